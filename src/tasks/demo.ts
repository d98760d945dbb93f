// `demo`: the main job on an invented tape that needs nothing from outside: writes its captures and transfer sheet, runs the job
// as a user would, and holds the result against the truth.
import { mkdir } from 'node:fs/promises';
import { join } from 'node:path';
import { DEFAULT_BLOCK_FRAMES, type Rate, rateHz, sliceBlock, stableJson, throwIfStopped } from '../base/index.ts';
import type { TransferReport } from '../deliver/index.ts';
import { createAudio, writeFileSafely } from '../media/index.ts';
import type { TaskContext } from './context.ts';
import { checkDemo, type DemoCheck } from './demo-checks.ts';
import { DEMO_FAULTS, DEMO_FORMAT, DEMO_TAPE, type DemoTape, demoTape } from './demo-tape.ts';
import { runSheet } from './run-sheet.ts';

export interface DemoOptions {
  readonly out?: string | undefined;
  readonly seed?: number | undefined;
  readonly seconds?: number | undefined;
}

export interface DemoDocument {
  readonly schema: 'tapeproof/demo@1';
  readonly folder: string;
  readonly sheet: string;
  readonly result: string;
  readonly seed: number;
  readonly story: readonly string[];
  readonly checks: readonly DemoCheck[];
  readonly report: TransferReport;
}

const STORY = [
  'The Harbour Ballroom kept one eight-track cassette of a concert (all invented). Five passes on two decks went into two',
  'recorders with two inputs each. In pass 2 a head was clogged for six seconds, pass 3 had drop-outs, the tape is torn at',
  'one spot, one recorder lost 37 samples, and another was not at unity gain.',
];

export async function runDemo(options: DemoOptions = {}, context: TaskContext = {}): Promise<DemoDocument> {
  const folder = options.out ?? 'tapeproof-demo';
  const seed = options.seed ?? 417;
  context.progress?.({ stage: 'inventing a concert', done: 0, total: 1, unit: 'items' });
  const tape = demoTape(seed, options.seconds ?? 60);
  context.progress?.({ stage: 'inventing a concert', done: 1, total: 1, unit: 'items' });
  const sheet = await writeCaptures(tape, folder, context);
  const result = join(folder, 'result');
  const report = await runSheet(sheet, { out: result }, context);
  const checks = await checkDemo(tape, report, join(result, report.masters[0].path));
  return { schema: 'tapeproof/demo@1', folder, sheet, result, seed, story: STORY, checks, report };
}

/** The demo is done when its result agrees with the truth; the losses it shows are meant to be there. */
export function demoNeedsPerson({ checks }: DemoDocument): boolean {
  return checks.some((check) => !check.holds);
}

/** Writes captures/, sheet.yaml and truth.json; returns the sheet's path. */
async function writeCaptures(tape: DemoTape, folder: string, { stop, progress }: TaskContext): Promise<string> {
  await mkdir(join(folder, 'captures'), { recursive: true });
  const { captures } = tape.transfer;
  for (const [done, capture] of captures.entries()) {
    throwIfStopped(stop);
    const path = join(folder, 'captures', capture.name);
    await writePlanes(path, capture.planes, capture.rate);
    progress?.({ stage: 'writing its captures', done: done + 1, total: captures.length, unit: 'items' });
  }
  const truth = captures.map(({ name, truth: own }) => ({ name, ...own }));
  await writeFileSafely(join(folder, 'truth.json'), stableJson({ faults: DEMO_FAULTS, captures: truth }, 1));
  const sheet = join(folder, 'sheet.yaml');
  await writeFileSafely(sheet, sheetText(tape));
  return sheet;
}

async function writePlanes(path: string, planes: readonly Int32Array[], at: Rate): Promise<void> {
  const writer = await createAudio(path, { channels: planes.length, rate: at, bits: 16 });
  const whole = { start: 0, frames: planes[0].length, planes };
  try {
    for (let from = 0; from < whole.frames; from += DEFAULT_BLOCK_FRAMES) {
      await writer.write(sliceBlock(whole, from, Math.min(DEFAULT_BLOCK_FRAMES, whole.frames - from)));
    }
    await writer.commit();
  } catch (error) {
    await writer.abort();
    throw error;
  }
}

function sheetText(tape: DemoTape): string {
  const { captures } = tape.transfer;
  const lines = captures.map(({ name, pass, recorder, channels }, i) => {
    const { deck } = tape.captures[i];
    return `  - { file: captures/${name}, pass: ${pass}, deck: ${deck}, recorder: ${recorder}, channels: [${channels.join(', ')}] }`;
  });
  const hz = rateHz(captures[0].rate);
  return [
    '# Transfer sheet of an invented tape (tapeproof demo). Every capture shares a channel with another pass.',
    `tape: { id: ${DEMO_TAPE}, format: ${DEMO_FORMAT}, system: 525/60, word: 16, rate: ${hz} }`,
    'captures:',
    ...lines,
    'notes: The Harbour Ballroom, an evening that never was.',
    '',
  ].join('\n');
}
