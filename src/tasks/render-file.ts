// `render`: what a format does to any recording, at the loudness of the original, as a new file beside a note that says what it is. The original
// is only read; nothing is overwritten.
import { basename, dirname, join } from 'node:path';
import { type Block, formatRate, parseRate, type Rate, sameRate, TapeproofError } from '../base/index.ts';
import { type RenderDocument, renderText } from '../deliver/index.ts';
import { type AudioFile, writeFileSafely } from '../media/index.ts';
import { LoudnessMeter } from '../signal/index.ts';
import { frameLengthsOf, HEARD_BITS, type HeardDamage, type HeardFormat, hearFormat } from '../simulate/index.ts';
import { findFormat, findLaw, type TapeFormat } from '../tape/index.ts';
import { fileSource, openCapture, type ReadOptions } from './capture-source.ts';
import { type TaskContext, tellFrames } from './context.ts';
import { refuseExisting } from './refuse-existing.ts';
import { writeMaster } from './write-master.ts';

export type RenderDamage = 'none' | 'dropouts' | 'head';

export interface RenderOptions extends ReadOptions {
  /** id of a format sheet, or of a family where one mode is left */
  readonly format: string;
  /** where the file goes; default: beside the original, with the format and `derivative` in its name */
  readonly out?: string | undefined;
  /** one of the format's rates; default its usual one */
  readonly rate?: string | undefined;
  readonly damage?: RenderDamage | undefined;
  readonly seed?: number | undefined;
  /** gain ahead of the format, taken off again behind it */
  readonly recordDb?: number | undefined;
}

/** A match of loudness beyond this would hide what the format did. */
const MOST_MATCH_DB = 6;

export async function renderFile(
  path: string,
  options: RenderOptions,
  context: TaskContext = {},
): Promise<RenderDocument> {
  const format = findFormat(options.format, undefined, options.rate ? { rate: parseRate(options.rate) } : {});
  const out =
    options.out ?? join(dirname(path), `${basename(path).replace(/\.[^.]*$/, '')}.${format.id}.derivative.wav`);
  const note = `${out}.txt`;
  await refuseExisting(out);
  await refuseExisting(note);
  const audio = await openCapture(fileSource(path, options));
  try {
    const document = await render(audio, path, out, format, options, context);
    await writeFileSafely(note, renderText(document));
    return document;
  } finally {
    await audio.close();
  }
}

async function render(
  audio: AudioFile,
  path: string,
  out: string,
  format: TapeFormat,
  options: RenderOptions,
  context: TaskContext,
): Promise<RenderDocument> {
  const { info } = audio;
  const heard = heardFormat(format, options);
  const { recordDb = 0 } = options;
  const hear = (gain: number) => hearFormat(audio, heard, { recordDb, gain, stop: context.stop });
  const before = await listen(
    audio.blocks({ stop: context.stop }),
    info,
    info.bits,
    tellFrames(context.progress, `listening to ${path}`, info),
  );
  const through = await listen(hear(1), info, HEARD_BITS, tellFrames(context.progress, `hearing ${format.id}`, info));
  const match = matchGain(before.loudness, through.loudness, through.peak);
  const tell = tellFrames(context.progress, `writing ${out}`, info);
  async function* blocks(): AsyncGenerator<Block> {
    for await (const block of hear(10 ** (match.db / 20))) {
      yield block;
      tell(block);
    }
  }
  const master = await writeMaster(out, { channels: info.channels, rate: info.rate, bits: HEARD_BITS }, blocks());
  return {
    schema: 'tapeproof/render@1',
    source: path,
    out,
    note: `${out}.txt`,
    format: { id: format.id, label: format.label },
    law: format.signal.law.value,
    wordBits: heard.wordBits,
    rate: heard.rate,
    recordDb,
    damage: options.damage ?? 'none',
    loudness: { source: before.loudness, throughFormat: through.loudness },
    gainDb: match.db,
    isMatched: match.isMatched,
    frames: master.frames,
    digests: master.digests,
    notSimulated: notSimulated(format, heard.damage),
  };
}

function heardFormat(format: TapeFormat, options: RenderOptions): HeardFormat {
  const { rates, law, linearBits } = format.signal;
  const wanted = options.rate ? parseRate(options.rate) : rates.value[0];
  if (!rates.value.some((one) => sameRate(one, wanted))) {
    throw new TapeproofError('input', `format "${format.id}" has no such rate`, {
      expected: rates.value.map(formatRate).join(' or '),
      found: formatRate(wanted),
    });
  }
  return {
    rate: wanted,
    wordBits: Math.min(HEARD_BITS, linearBits.value),
    law: law.value === 'linear' ? undefined : findLaw(law.value),
    damage: damageFor(format, options),
  };
}

function damageFor(format: TapeFormat, { damage = 'none', seed = 1 }: RenderOptions): HeardDamage {
  if (damage === 'none') return { kind: 'none' };
  if (damage === 'dropouts') return { kind: 'dropouts', seed };
  const pattern = format.losses.find((one) => one.cause === 'one-head');
  if (!pattern) {
    throw new TapeproofError('unsupported', `what the loss of one head does to "${format.id}" is not known`, {
      expected: 'a format whose sheet lists the pattern',
      next: 'render with --damage dropouts instead',
    });
  }
  return { kind: 'head', pattern, frameLengths: frameLengthsOf(format) };
}

interface Heard {
  /** LUFS; null where nothing is loud or long enough */
  readonly loudness: number | null;
  /** full scale 1 */
  readonly peak: number;
}

async function listen(
  blocks: AsyncIterable<Block>,
  info: { readonly rate: Rate; readonly channels: number },
  bits: number,
  tell: (block: Block) => void,
): Promise<Heard> {
  const meter = new LoudnessMeter({ rate: info.rate, bits, weights: Array.from({ length: info.channels }, () => 1) });
  let peak = 0;
  for await (const block of blocks) {
    meter.push(block.planes, block.frames);
    for (const plane of block.planes) {
      for (let n = 0; n < block.frames; n++) peak = Math.max(peak, Math.abs(plane[n]));
    }
    tell(block);
  }
  return { loudness: meter.finish().integrated, peak: peak / 2 ** (bits - 1) };
}

/** Equal loudness as far as full scale allows; without a loudness, as it is. */
function matchGain(
  before: number | null,
  through: number | null,
  peak: number,
): { readonly db: number; readonly isMatched: boolean } {
  if (before === null || through === null) return { db: 0, isMatched: false };
  const wanted = before - through;
  const most = peak > 0 ? Math.min(MOST_MATCH_DB, Math.max(0, -20 * Math.log10(peak))) : MOST_MATCH_DB;
  const db = Math.max(-MOST_MATCH_DB, Math.min(most, wanted));
  return { db, isMatched: Math.abs(db - wanted) < 0.05 };
}

function notSimulated(format: TapeFormat, damage: HeardDamage): string[] {
  const common =
    'The filters are those of this program, not of any converter; converters of the time added noise and distortion of their own.';
  const guess = 'Which samples lie on which head is a guess for this format: the lost head may sound otherwise.';
  const heads = damage.kind === 'head' && damage.pattern.hypothesis ? [guess] : [];
  if (format.signal.law.value.startsWith('eight-mm')) {
    return [
      common,
      ...heads,
      'Decks of this format compress the sound before the converter and expand it behind it (analogue noise reduction, 2:1): that is not simulated, so quiet passages sound noisier here than from a deck.',
      'The break points of the law are the remembered ones (certainty M).',
    ];
  }
  return [common, ...heads];
}
