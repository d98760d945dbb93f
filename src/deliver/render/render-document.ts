// The JSON document of `render` and its text, which also lies beside the file as a note: a derivative must say that it is one.
import { formatRate, type Rate } from '../../base/index.ts';
import type { Digests } from '../documents.ts';
import { wrapText } from '../text-table.ts';

export interface RenderDocument {
  readonly schema: 'tapeproof/render@1';
  readonly source: string;
  readonly out: string;
  /** the text beside it */
  readonly note: string;
  readonly format: { readonly id: string; readonly label: string };
  /** id of the law, or `linear` */
  readonly law: string;
  readonly wordBits: number;
  readonly rate: Rate;
  readonly recordDb: number;
  readonly damage: string;
  /** LUFS; null where nothing was loud or long enough */
  readonly loudness: { readonly source: number | null; readonly throughFormat: number | null };
  /** applied behind the format to match the loudness of the source */
  readonly gainDb: number;
  readonly isMatched: boolean;
  readonly frames: number;
  readonly digests: Digests;
  readonly notSimulated: readonly string[];
}

export function renderText(document: RenderDocument): string {
  const { source, out, format, law, wordBits, rate, damage, loudness, gainDb, isMatched, recordDb, digests } = document;
  const lufs = (value: number | null) =>
    value === null ? 'none (too quiet or too short)' : `${value.toFixed(2)} LUFS`;
  const lines = [
    `DERIVATIVE, made for listening: ${out}`,
    `It is not a transfer and no evidence of any tape. Made from ${source}, which was not changed.`,
    `Format: ${format.label} (${format.id}): ${law === 'linear' ? `${wordBits} bits, linear` : `law ${law}`}, ${formatRate(rate)}, brought back to the rate of the source.`,
    `Damage: ${damage === 'none' ? 'none' : damage === 'head' ? 'one head away for three of every ten seconds' : 'drop-outs of 1 to 20 ms, one or two in ten seconds'}.`,
    ...(recordDb === 0
      ? []
      : [`Recorded ${recordDb} dB louder than the file stands, and brought back behind the format.`]),
    `Loudness: source ${lufs(loudness.source)}, through the format ${lufs(loudness.throughFormat)}; ${gainDb.toFixed(2)} dB applied, ${isMatched ? 'matched' : 'not fully matched'}.`,
    ...document.notSimulated.map((text) => `Not simulated: ${text}`),
    `SHA-256 of the file ${digests.file.sha256}, of the audio ${digests.audio.sha256}`,
  ];
  return `${lines.map((text) => wrapText(text, { hang: 2 })).join('\n')}\n`;
}
