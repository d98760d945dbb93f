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

  it('random small benches under a limit on passes: the second best within the limit', () => {
    const random = new Random(31);
    let withSecond = 0;
    for (let n = 0; n < 60; n++) {
      const open = randomRequest(() => random.uniform());
      const free = makePlan(open);
      if ('reasons' in free) continue;
      const passes = Math.max(1, free.passes.length + Math.floor(random.uniform() * 3) - 1);
      const asked = { ...open, rules: { ...open.rules, passes } };
      const [best, second] = bruteForce(asked, asked.wanted.channels?.length ?? 0, 1, passes);
      const plan = makePlan(asked);
      expect('reasons' in plan).toBe(best === undefined);
      if ('reasons' in plan) continue;
      expect([groupsOf(plan, asked), plan.cost.total]).toEqual([best.groups, expect.closeTo(best.cost / 1000, 1)]);
      expect(plan.runnerUp === null).toBe(second === undefined);
      if (!plan.runnerUp) continue;
      expect(plan.runnerUp.isNext).toBe(true);
      expect(plan.runnerUp.cost.total).toBeCloseTo(second.cost / 1000, 1);
      withSecond++;
    }
    expect(withSecond).toBeGreaterThan(10);
  });

  it('programmes tied together by a limit: the best; the other plan claims nothing and is the second best all the same', () => {
    const random = new Random(37);
    let bindings = 0;
    let equal = 0;
    for (let n = 0; n < 9; n++) {
      const pick = <T>(...list: readonly T[]): T => list[Math.floor(random.uniform() * list.length)];
      const some = freeOutputs(1, 2);
      const others = pick(freeOutputs(1, 2), pairOutputs(2));
      const all = [deck('a', some), deck('b', others, { wear: pick(1.2, 1.5, 3) })];
      const spec = {
        decks: all.slice(0, pick(1, 2, 2)),
        channels: 4,
        programmes: 2,
        reads: 1,
        recorders: recorders(1),
      };
      // A pass is spent on joining each programme: a limit that forbids one of them ties the two together.
      const most = planOf(request(spec)).passes.length - pick(0, 1, 1, 2);
      const asked = request({ ...spec, rules: { passes: most } });
      const [best, second] = bruteForce(asked, 4, 2, most);
      const plan = makePlan(asked);
      expect('reasons' in plan).toBe(best === undefined);
      if ('reasons' in plan) continue;
      expect([groupsOf(plan, asked), plan.cost.total]).toEqual([best.groups, expect.closeTo(best.cost / 1000, 1)]);
      if (!plan.runnerUp) continue;
      const other = plan.runnerUp.groups * 1e6 * Number(asked.rules.join !== 'none') + plan.runnerUp.cost.total;
      const least = second.groups * 1e6 + second.cost / 1000;
      expect(other).toBeGreaterThan(least - 0.1);
      if (plan.runnerUp.isNext) expect(other).toBeLessThan(least + 0.1);
      else {
        bindings++;
        if (other < least + 0.1) equal++;
      }
    }
    expect([bindings > 4, equal]).toEqual([true, bindings]);
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
