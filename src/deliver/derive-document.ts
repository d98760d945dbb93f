// The JSON document of `derive` and its text, which also lies beside the file as a note: a derivative must say what it is and whose.
import { formatRate, type Rate } from '../base/index.ts';
import type { Digests } from './documents.ts';
import { countOf } from './plain-words.ts';
import { wrapText } from './text-table.ts';

export interface DeriveDocument {
  readonly schema: 'tapeproof/derive@1';
  readonly parent: { readonly path: string; readonly digests: Digests };
  readonly out: string;
  /** the text beside it */
  readonly note: string;
  /** what was done, in order, one sentence each */
  readonly steps: readonly string[];
  readonly rate: Rate;
  readonly channels: number;
  readonly bits: number;
  readonly frames: number;
  /** samples that did not fit and stand at full scale */
  readonly clippedSamples: number;
  /** what speaks against the correction */
  readonly cautions: readonly string[];
  readonly digests: Digests;
}

export function deriveText(document: DeriveDocument): string {
  const { out, parent, steps, channels, bits, rate, frames, clippedSamples, digests } = document;
  const lines = [
    `DERIVATIVE: ${out}`,
    `Made from ${parent.path}, which was not changed and stays the master (SHA-256 of the file ${parent.digests.file.sha256}, of the audio ${parent.digests.audio.sha256}).`,
    ...steps.map((step, i) => `${i + 1}. ${step}`),
    `${countOf(channels, 'channel')}, ${bits} bits, ${formatRate(rate)}, ${frames} frames.`,
    ...(clippedSamples > 0
      ? [
          `CAUTION: ${countOf(clippedSamples, 'sample')} did not fit and ${clippedSamples === 1 ? 'stands' : 'stand'} at full scale.`,
        ]
      : []),
    ...document.cautions.map((text) => `CAUTION: ${text}`),
    `SHA-256 of the file ${digests.file.sha256}, of the audio ${digests.audio.sha256}`,
  ];
  return `${lines.map((text) => wrapText(text, { hang: 2 })).join('\n')}\n`;
}
