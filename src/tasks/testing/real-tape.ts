// An eight-channel tape of real recordings (Debian packages, media/testing/music.ts), recorded, damaged and captured by simulate/, with
// its captures and sheet written to a folder: the whole job on real sound with known truth.
import { mkdir, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { type Rate, rate } from '../../base/index.ts';
import { createAudio } from '../../media/index.ts';
import { loadMusic, needMusic } from '../../media/testing/music.ts';
import type { Skipping } from '../../media/testing/tools.ts';
import {
  type CaptureSpec,
  damageOf,
  type Loss,
  lossAt,
  type PassSpec,
  type SimulatedTransfer,
  simulateTransfer,
  tornSpot,
} from '../../simulate/index.ts';

export const TAPE_RATE: Rate = rate(44_100);
const RECORDINGS = ['guitar', 'violins', 'choir', 'electric-guitar'];

/** Eight planes of real sound, each recording left and right, `seconds` long (shorter ones are played again from their start). */
export async function realProgramme(context: Skipping, seconds: number): Promise<Int32Array[]> {
  const frames = Math.round(seconds * 44_100);
  const planes: Int32Array[] = [];
  for (const name of RECORDINGS) {
    const music = await loadMusic(await needMusic(context, name));
    for (const plane of music.planes.slice(0, 2)) {
      planes.push(Int32Array.from({ length: frames }, (_, i) => plane[i % plane.length]));
    }
  }
  return planes;
}

export interface RealTapeSpec {
  readonly planes: readonly Int32Array[];
  readonly torn?: { readonly start: number; readonly length: number };
  readonly passLosses?: ReadonlyMap<number, readonly Loss[]>;
  readonly captures: readonly CaptureSpec[];
}

export function recordedTape({ planes, torn, passLosses, captures }: RealTapeSpec): SimulatedTransfer {
  const frames = planes[0].length;
  const passes = [...new Set(captures.map(({ pass }) => pass))].map((pass): PassSpec => {
    const losses = passLosses?.get(pass);
    return losses
      ? {
          pass,
          damage: damageOf(
            planes.length,
            frames,
            losses.map((loss) => [loss]),
          ),
        }
      : { pass };
  });
  return simulateTransfer({
    seed: 31,
    tape: { planes, bits: 16, rate: TAPE_RATE, wordBits: 16 },
    ...(torn ? { damage: damageOf(planes.length, frames, [tornSpot(planes.length, torn.start, torn.length)]) } : {}),
    passes,
    captures,
  });
}

export { lossAt };

/** Writes the captures and a sheet; returns the sheet's path. */
export async function writeTransfer(
  folder: string,
  transfer: SimulatedTransfer,
  lines: readonly string[] = [],
): Promise<string> {
  await mkdir(folder, { recursive: true });
  for (const { name, planes, bits, rate: at } of transfer.captures) {
    const writer = await createAudio(join(folder, name), { channels: planes.length, rate: at, bits: bits as 16 | 24 });
    await writer.write({ start: 0, frames: planes[0].length, planes });
    await writer.commit();
  }
  const captures = transfer.captures.map(
    ({ name, pass, recorder, channels }, i) =>
      `  - { file: ${name}, pass: ${pass}, deck: bench-${pass % 2}, recorder: ${recorder}, channels: [${channels.join(', ')}]${lines[i] ?? ''} }`,
  );
  const sheet = join(folder, 'sheet.yaml');
  await writeFile(
    sheet,
    ['tape: { id: HB-0901, format: eight-track-8mm, word: 16, rate: 44100 }', 'captures:', ...captures, ''].join('\n'),
  );
  return sheet;
}
