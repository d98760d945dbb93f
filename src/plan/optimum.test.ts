// The best plan and its runner-up against trying everything (testing/brute-force.ts), on random small benches and on the sizes that occur as
// far as trying everything can go. Tolerance: a thousandth of a point per rounded sum.
import { describe, expect, it } from 'vitest';
import { Random } from '../signal/index.ts';
import type { PlanRequest } from './bench.ts';
import { makePlan, type Plan } from './index.ts';

import { deck, freeOutputs, pairOutputs, randomRequest, recorder, recorders, request } from './testing/benches.ts';
import { bruteForce } from './testing/brute-force.ts';

function planOf(asked: PlanRequest): Plan {
  const plan = makePlan(asked);
  if ('reasons' in plan) throw new Error(plan.reasons.map(({ why }) => why).join('; '));
  return plan;
}

/** Groups as the rules count them. */
function groupsOf(plan: Plan, { rules }: PlanRequest): number {
  if (rules.join === 'none') return 0;
  return (rules.join === 'timecode' ? plan.timecodeGroups : plan.groups).length;
}

function expectSame(asked: PlanRequest, channels: number, programmes: number, extraPasses = 1): void {
  const plan = planOf(asked);
  const most = asked.rules.passes ?? plan.passes.length + extraPasses;
  const [best, second] = bruteForce(asked, channels, programmes, most);
  expect(plan.proof).toEqual({ isExact: true, withinPoints: 0 });
  expect([groupsOf(plan, asked), plan.cost.total]).toEqual([best.groups, expect.closeTo(best.cost / 1000, 1)]);
  if (plan.runnerUp && plan.runnerUp.decks.reduce((sum, { passes }) => sum + passes, 0) <= most) {
    expect(plan.runnerUp.cost.total).toBeCloseTo(second.cost / 1000, 1);
  }
}

describe('against trying everything', () => {
  it('random small benches: cost, groups and runner-up', () => {
    const random = new Random(13);
    let checked = 0;
    for (let n = 0; n < 70; n++) {
      const asked = randomRequest(() => random.uniform());
      if ('reasons' in makePlan(asked)) continue;
      expectSame(asked, asked.wanted.channels?.length ?? 0, 1);
      checked++;
    }
    expect(checked).toBeGreaterThan(35);
  });

  it.each([
    [1, 1],
    [2, 2],
    [3, 3],
    [4, 3],
    [6, 3],
  ])('eight channels in fixed pairs, %i recorders, %i reads, two decks', (count, reads) => {
    const decks = [deck('north deck', pairOutputs(4)), deck('south deck', pairOutputs(4), { wear: 1.3 })];
    expectSame(request({ decks, recorders: recorders(count), reads }), 8, 1);
  });

  it('eight channels, wide and narrow recorders, three reads', () => {
    const list = [recorder('wide', { pairs: 2 }), recorder('a'), recorder('b', { bits: [24] })];
    expectSame(request({ decks: [deck('deck', pairOutputs(4))], recorders: list, reads: 3 }), 8, 1);
  });

  it.each([
    [5, 1, 1],
    [5, 2, 2],
    [6, 2, 1],
  ])('%i channels freely routed, %i recorders, %i reads', (channels, count, reads) => {
    const asked = request({ decks: [deck('deck', freeOutputs(2))], recorders: recorders(count), reads, channels });
    expectSame(asked, channels, 1, 0);
  });

  it('six programmes tried together, three reads, two decks', () => {
    const main = [{ name: 'main', kind: 'aes3', width: 2, choices: [[1, 2]] }];
    const decks = [deck('a', main), deck('b', main, { wear: 1.1 })];
    const asked = request({
      decks,
      recorders: [recorder('r')],
      reads: 1,
      programmes: 6,
      format: 'eight-mm-six-programmes-625',
      rules: { passes: 7 },
    });
    expectSame(asked, 2, 6);
  });
});
