// `signal measure`: the test programme of `measure` as a file, with the list of its parts and its warnings. Overwrites nothing.
import { type Block, parseRate, secondsOf, TapeproofError, throwIfStopped } from '../base/index.ts';
import type { SignalDocument } from '../deliver/index.ts';
import {
  levelOf,
  PROGRAMME_CHANNELS,
  placeSections,
  programmeBlocks,
  programmeFrames,
  programmePlan,
} from '../measure/index.ts';
import type { TaskContext } from './context.ts';
import { refuseExisting } from './refuse-existing.ts';
import { writeMaster } from './write-master.ts';

export interface ProgrammeOptions {
  readonly out: string;
  /** as `parseRate` reads it; default 48000 */
  readonly rate?: string | undefined;
  /** default 24 */
  readonly bits?: number | undefined;
}

/** Parts with peaks from here on are named in the warnings, dB below full scale. */
const LOUD_DB = -6.5;

export async function writeProgramme(options: ProgrammeOptions, context: TaskContext = {}): Promise<SignalDocument> {
  const plan = programmePlan(parseRate(options.rate ?? '48000'), options.bits ?? 24);
  await refuseExisting(options.out);
  const frames = programmeFrames(plan);
  async function* blocks(): AsyncGenerator<Block> {
    for (const block of programmeBlocks(plan)) {
      throwIfStopped(context.stop);
      yield block;
      const done = block.start + block.frames;
      context.progress?.({ stage: `writing ${options.out}`, done, total: frames, unit: 'frames' });
    }
  }
  const master = await writeMaster(
    options.out,
    { channels: PROGRAMME_CHANNELS, rate: plan.rate, bits: plan.bits },
    blocks(),
  );
  const sections = placeSections(plan).map(({ section, start, length }) => ({
    id: section.id,
    start,
    length,
    channel: section.channel,
    levelDb: Number.isFinite(levelOf(section)) ? levelOf(section) : null,
  }));
  return {
    schema: 'tapeproof/signal@1',
    signal: 'measure',
    path: options.out,
    rate: plan.rate,
    bits: plan.bits,
    channels: PROGRAMME_CHANNELS,
    frames: master.frames,
    digests: master.digests,
    sections,
    warnings: warningsOf(sections, (frame) => secondsOf(frame, plan.rate)),
  };
}

function warningsOf(sections: SignalDocument['sections'], seconds: (frame: number) => number): string[] {
  const loud = sections.filter(({ levelDb }) => levelDb !== null && levelDb > LOUD_DB);
  const [first] = loud;
  if (!first) throw new TapeproofError('input', 'a programme without a loud part');
  const last = loud[loud.length - 1];
  return [
    `Never listen to this on loudspeakers or headphones: steady tones rise to full scale. The loud parts lie between ${seconds(first.start).toFixed(0)} s and ${seconds(last.start + last.length).toFixed(0)} s. Turn monitors off before playing it.`,
    'Set the level so that the full scale of the programme is the full scale of the device under test, or let its loudest steps clip a little; then do not touch it.',
    'Send it untouched: no dither, no gain, no rate conversion on the way to the device, unless these are what you measure.',
  ];
}
