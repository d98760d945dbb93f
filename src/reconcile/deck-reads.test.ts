// The rules against decks they were not written with: the transfer simulator's programmes, losses and concealment.
import { describe, expect, test } from 'vitest';
import { rate } from '../base/index.ts';
import { Random } from '../signal/index.ts';
import { type ConcealPolicy, chanceLosses, conceal, damageOf, synthesiseProgramme } from '../simulate/index.ts';
import { outcomeOf, runPerFrame } from './testing/outcome.ts';
import { captureOf } from './testing/reads.ts';

const RATE = rate(48000);
const line = { kind: 'line', rounding: 'nearest' } as const;
const POLICIES: Record<string, ConcealPolicy | undefined> = {
  'a deck of no special make': undefined,
  'lines only': { rules: [{ upTo: Number.POSITIVE_INFINITY, method: line }] },
  'hold only': { rules: [{ upTo: Number.POSITIVE_INFINITY, method: { kind: 'hold' } }] },
};

async function judge(policy: ConcealPolicy | undefined, passes: number, seed: number) {
  const { planes: truth } = synthesiseProgramme({ channels: 1, seconds: 2, rate: RATE, bits: 16, seed });
  const frames = truth[0].length;
  const random = new Random(seed);
  const reads = Array.from({ length: passes }, (_, pass) => {
    const stream = random.fork(`pass ${pass}`);
    const base = { channels: [1], frames, cause: 'chance' };
    const layers = [
      chanceLosses({ ...base, count: 150, minFrames: 1, maxFrames: 40 }, stream.fork('bursts')),
      chanceLosses({ ...base, count: 60, minFrames: 1, maxFrames: 60, every: 2 }, stream.fork('lattices')),
      chanceLosses({ ...base, count: 400, minFrames: 1, maxFrames: 1 }, stream.fork('singles')),
    ];
    return conceal({ planes: truth }, damageOf(1, frames, layers), policy).planes[0];
  });
  const outcome = await outcomeOf(reads.map((plane, i) => captureOf({ pass: i + 1, planes: [plane] })));
  const count = { provenWrong: 0, chosen: 0, chosenWrong: 0 };
  for (const [i, { state }] of runPerFrame(outcome, 1).entries()) {
    const isWrong = outcome.planes[0][i] !== truth[0][i];
    if (state === 'chosen') count.chosen++;
    if (isWrong && state === 'chosen') count.chosenWrong++;
    if (isWrong && state === 'proven') count.provenWrong++;
  }
  return count;
}

describe.each(Object.keys(POLICIES))('simulated reads of %s, one sample in twenty lost in every read', (name) => {
  test('three passes: nothing wrong is called proven', async () => {
    for (let seed = 1; seed <= 6; seed++) {
      const count = await judge(POLICIES[name], 3, seed);
      expect([seed, count.provenWrong]).toEqual([seed, 0]);
    }
  });

  test('two passes: at most 1 in 100 of the chosen samples are wrong', async () => {
    for (let seed = 1; seed <= 3; seed++) {
      const { chosen, chosenWrong } = await judge(POLICIES[name], 2, seed);
      expect(chosen).toBeGreaterThan(1000);
      expect(chosenWrong / chosen).toBeLessThan(0.01);
    }
  });
});
