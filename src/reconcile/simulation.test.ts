// Reads with known truth and independent concealment: the bar "nothing wrong is called proven after three reads", how
// often a choice between two reads is wrong, and what agreement cannot show.
import { describe, expect, test } from 'vitest';
import { outcomeOf, runPerFrame } from './testing/outcome.ts';
import {
  type Burst,
  captureOf,
  conceal,
  damaged,
  music,
  noise,
  type Random,
  randomBurst,
  seeded,
} from './testing/reads.ts';

const FRAMES = 6000;

const SIGNALS: Record<string, (random: Random) => Int32Array> = {
  'loud noise': (random) => noise(random, FRAMES, 3000),
  'loud music': (random) => music(random, FRAMES, 6000, 60),
  'quiet music': (random) => music(random, FRAMES, 1500, 20),
  whisper: (random) => noise(random, FRAMES, 3),
};

/** [bursts per read, longest burst]: from single samples to a tenth of every read lost */
const DAMAGE = [
  [3, 60],
  [60, 1],
  [12, 12],
  [30, 40],
] as const;

interface Count {
  proven: number;
  provenWrong: number;
  chosen: number;
  chosenWrong: number;
  damaged: number;
}

async function simulate(signal: string, passes: number, seeds: number): Promise<Count> {
  const count = { proven: 0, provenWrong: 0, chosen: 0, chosenWrong: 0, damaged: 0 };
  for (let seed = 1; seed <= seeds; seed++) {
    const random = seeded(seed * 7919 + passes);
    const [bursts, longest] = DAMAGE[seed % DAMAGE.length];
    const truth = SIGNALS[signal](random);
    const reads = Array.from({ length: passes }, () =>
      damaged(
        truth,
        Array.from({ length: bursts }, () => randomBurst(random, FRAMES, longest)),
      ),
    );
    const outcome = await outcomeOf(reads.map((plane, i) => captureOf({ pass: i + 1, planes: [plane] })));
    for (const [i, run] of runPerFrame(outcome, 1).entries()) {
      const isWrong = outcome.planes[0][i] !== truth[i];
      if (reads.some((read) => read[i] !== truth[i])) count.damaged++;
      if (run.state === 'proven') {
        count.proven++;
        if (isWrong) count.provenWrong++;
      } else if (run.state === 'chosen') {
        count.chosen++;
        if (isWrong) count.chosenWrong++;
      }
    }
  }
  return count;
}

describe('three reads with independent concealment', () => {
  test.each(Object.keys(SIGNALS))('%s, 200 seeds: nothing wrong is called proven', async (signal) => {
    const count = await simulate(signal, 3, 200);
    expect(count.damaged).toBeGreaterThan(20_000); // the test bites: without damage it could not fail
    expect(count.provenWrong).toBe(0);
    // the rules must not buy that by proving little: measured 0.998, 0.996, 0.990 and, in a whisper, 0.856
    expect(count.proven / (200 * FRAMES)).toBeGreaterThan(signal === 'whisper' ? 0.8 : 0.98);
  });
});

describe('two reads with independent concealment', () => {
  // Bar 1 % is ours. Measured: none wrong in loud signals, 0.02 % in quiet music, 0.2 % in a whisper.
  // Equal single losses in both reads stay invisible: measured 5 or 6 samples of 24,000 damaged ones, 84 in a whisper.
  test.each(Object.keys(SIGNALS))('%s, 100 seeds: at most 1 in 100 of the chosen samples are wrong', async (signal) => {
    const count = await simulate(signal, 2, 100);
    expect(count.chosenWrong / count.chosen).toBeLessThan(0.01);
    expect(count.provenWrong / count.damaged).toBeLessThan(signal === 'whisper' ? 0.01 : 0.001);
    // and most of the damage is healed by choice where it can be seen at all
    if (signal.startsWith('loud')) expect(count.chosen / count.damaged).toBeGreaterThan(0.93);
  });
});

describe('damage of the tape itself, equal in all reads', () => {
  const burst: Burst = { start: 2000, length: 40, period: 1, lost: 1, mechanism: 'mean' };
  const truth = noise(seeded(3), FRAMES, 3000);
  const read = truth.slice();
  conceal(truth, read, burst);
  const finding = { kind: 'interpolated', channels: [1], confidence: 0.99, start: 2000, length: 40 };

  test('with findings in every read it is unproven and lost', async () => {
    const captures = [1, 2, 3].map((pass) => captureOf({ pass, planes: [read], findings: [finding] }));
    const { session, runs } = await outcomeOf(captures);
    expect(session.tallies()).toEqual([{ channel: 1, proven: FRAMES - 40, chosen: 0, unproven: 40, lost: 40 }]);
    expect(runs.map((r) => [r.start, r.length, r.state])).toEqual([
      [0, 2000, 'proven'],
      [2000, 40, 'unproven'],
      [2040, FRAMES - 2040, 'proven'],
    ]);
    expect(session.reasons()[0].frames['all-reads-concealed']).toBe(40);
  });

  test('with a finding in one read only, the other one still proves it', async () => {
    const captures = [
      captureOf({ pass: 1, planes: [read], findings: [finding] }),
      captureOf({ pass: 2, planes: [read] }),
    ];
    expect((await outcomeOf(captures)).session.tallies()[0].proven).toBe(FRAMES);
  });

  test('without findings it is called proven although it is wrong: this is what agreement cannot show', async () => {
    const captures = [1, 2, 3].map((pass) => captureOf({ pass, planes: [read] }));
    const { session, planes } = await outcomeOf(captures);
    expect(session.tallies()[0].proven).toBe(FRAMES);
    expect(planes[0]).not.toEqual(truth);
  });
});
