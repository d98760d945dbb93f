// Sound that makes the marks of concealment by itself, row after row: nothing is lost there, and what is lost in it is still found.
import { describe, expect, it } from 'vitest';
import { memorySource, rate } from '../../base/index.ts';
import { Random } from '../../signal/index.ts';
import { conceal, damageOf } from '../../simulate/index.ts';
import type { Detector } from '../detector.ts';
import type { Finding } from '../finding.ts';
import { examineSource } from '../pass.ts';
import { held } from './held.ts';
import { interpolated } from './interpolated.ts';

const ALL = [interpolated, held] as unknown as readonly Detector[];
const FRAMES = 50_000;

async function findingsOf(plane: Int32Array, bits = 16): Promise<readonly Finding[]> {
  return (await examineSource(memorySource([plane], { name: 'test', rate: rate(48_000), bits }), ALL)).findings;
}

function made(value: (i: number) => number): Int32Array {
  return Int32Array.from({ length: FRAMES }, (_, i) => Math.round(value(i)));
}

/** A narrow band at a twelfth of the rate, as telephone sound at another rate has: its second differences pass through zero at every
 * sixth sample. */
function narrowBand(level: number): Int32Array {
  const random = new Random(1);
  let [phase, drift] = [0, 0];
  return made((i) => {
    drift = 0.999 * drift + 0.0006 * random.gaussian();
    phase += (Math.PI / 6) * (1 + drift);
    return level * (Math.sin(phase) + 3 * Math.sin(i / 97));
  });
}

describe('no loss', () => {
  it('in a narrow band that swings in step with a lattice', async () => {
    expect(await findingsOf(narrowBand(60))).toEqual([]);
  });

  it('in straight slopes whose sign leaps at random', async () => {
    const random = new Random(1);
    let sign = 1;
    const leaping = made((i) => {
      if (random.uniform() < 0.4) sign = -sign;
      return sign * (18_000 - 8 * (i % 1500));
    });
    expect(await findingsOf(leaping)).toEqual([]);
  });

  it('in sound that rests between two values and then on one, until a stroke', async () => {
    const random = new Random(1);
    let state = 0;
    const resting = made((i) => {
      if (i < 20_000) return 1023 + random.integer(2);
      if (i < 22_000) return 1024;
      state = 0.9 * state + 600 * random.gaussian();
      return state;
    });
    expect(await findingsOf(resting, 24)).toEqual([]);
  });
});

it('a line is found in sound so fine that hardly any other sample is a mean', async () => {
  const random = new Random(2);
  const plane = made(() => 200_000 * random.gaussian());
  const loss = { channel: 1, start: 20_001, length: 8, pattern: 'test', cause: 'test' };
  const policy = { rules: [{ upTo: 8, method: { kind: 'line', rounding: 'floor' } as const }] };
  const { planes } = conceal({ planes: [plane] }, damageOf(1, FRAMES, [[loss]]), policy);
  expect(await findingsOf(planes[0], 24)).toMatchObject([{ kind: 'interpolated', start: 20_001, length: 8 }]);
});

it('every second sample drawn in a narrow band is found', async () => {
  const plane = narrowBand(600);
  const loss = { channel: 1, start: 20_001, length: 200, pattern: 'test', cause: 'test' };
  const lost = (frame: number) => frame % 2 === 1;
  const policy = { rules: [{ upTo: 1, method: { kind: 'line', rounding: 'floor' } as const }] };
  const { planes } = conceal({ planes: [plane] }, damageOf(1, FRAMES, [[{ ...loss, lost }]]), policy);
  expect(await findingsOf(planes[0])).toMatchObject([{ kind: 'interpolated', detail: { period: 2, pattern: 'x.' } }]);
});
