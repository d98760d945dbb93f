// Error codes of the carrier in the reads: exact marks of lost samples. The truth is made here, so every claim is checked sample by
// sample: what carries a code in every read is lost and never proven, what one read has is chosen, what two have is proven.
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { outcomeOf, runPerFrame } from './testing/outcome.ts';
import { captureOf, music, noise, seeded } from './testing/reads.ts';

const CODE = -32_768;

/** Three samples of five are lost wherever `isAway` says that the head was away. */
function withCodes(truth: Int32Array, isAway: (at: number) => boolean, phase: number): Int32Array {
  return truth.map((value, i) => (isAway(i) && (i + phase) % 5 < 3 ? CODE : value));
}

interface Made {
  readonly truth: Int32Array;
  readonly planes: readonly Int32Array[];
}

function made(seed: number, passes: number): Made {
  const random = seeded(seed);
  const truth = random() < 0.5 ? noise(random, 9000, 300) : music(random, 9000, 4000, 3);
  const planes = Array.from({ length: passes }, () => {
    const from = Math.floor(random() * 8000);
    const to = from + Math.floor(random() * 4000);
    return withCodes(truth, (i) => i >= from && i < to, Math.floor(random() * 5));
  });
  return { truth, planes };
}

async function judged({ planes }: Made, bits = 16) {
  const captures = planes.map((plane, i) => captureOf({ pass: i + 1, planes: [plane], lostValue: CODE }));
  const wide = new Int32Array(9000).fill(77);
  const all = bits === 16 ? captures : [...captures, captureOf({ pass: 9, planes: [wide], channels: [2], bits })];
  const outcome = await outcomeOf(all);
  return { plane: outcome.planes[0], runs: runPerFrame(outcome, 1), reasons: outcome.session.reasons()[0].frames };
}

describe('error codes', () => {
  for (const passes of [1, 2, 3]) {
    test(`${passes} ${passes === 1 ? 'read' : 'reads'}: what nobody read is lost, what somebody read is there`, async () => {
      await fc.assert(
        fc.asyncProperty(fc.integer({ min: 1, max: 1e9 }), async (seed) => {
          const transfer = made(seed, passes);
          const { plane, runs } = await judged(transfer);
          for (let i = 0; i < plane.length; i++) {
            const good = transfer.planes.filter((read) => read[i] !== CODE).length;
            if (good === 0) expect(runs[i]).toMatchObject({ state: 'unproven', lost: true });
            else expect(plane[i]).toBe(transfer.truth[i]);
            if (good > 0) expect(runs[i].lost).toBe(false);
            if (good < 2) expect(runs[i].state).not.toBe('proven');
          }
        }),
        { numRuns: 12, seed: passes },
      );
    });
  }

  test('the reasons say so: chosen where one read has it, proven where two have, lost where none has', async () => {
    const truth = noise(seeded(5), 9000, 500);
    const clogged = [0, 3000, 6000].map((from) => withCodes(truth, (i) => i >= from && i < from + 2000, 0));
    const { runs } = await judged({ truth, planes: clogged.slice(0, 2) });
    expect(runs[0].reason).toBe(
      'only pass 2 has a sample here; pass 1 carries the error code of the tape, again and again; the samples in between are equal',
    );
    expect(runs[0].state).toBe('chosen');
    expect(runs[2500]).toMatchObject({ state: 'proven', reason: 'equal in pass 1 and pass 2' });
    const three = await judged({ truth, planes: clogged });
    expect(three.runs[0]).toMatchObject({
      state: 'proven',
      reason: 'equal in pass 2 and pass 3; pass 1 carries the error code of the tape',
    });
    const same = await judged({ truth, planes: [clogged[0], clogged[0]] });
    expect(same.runs[0]).toMatchObject({
      ...{ state: 'unproven', lost: true },
      reason: 'pass 1 and pass 2 carry the error code of the tape here: no valid sample',
    });
    expect(same.runs[3]).toMatchObject({ state: 'proven', lost: false });
    expect(same.reasons['all-reads-lost']).toBe(1200);
  });

  test('codes make nobody suspect: a tone that the other reads share stays proven beside them', async () => {
    const tone = Int32Array.from({ length: 9000 }, (_, i) => Math.round(9830 * Math.sin((2 * Math.PI * i) / 48)));
    const clogged = withCodes(tone, (i) => i >= 3000 && i < 6000, 2);
    const { runs } = await judged({ truth: tone, planes: [clogged, tone, tone] });
    const doubted = runs.filter(({ state }) => state !== 'proven').length;
    expect(doubted).toBe(0);
  });

  test('in a master of a wider word the code is still known', async () => {
    const truth = noise(seeded(6), 9000, 500);
    const reads = [withCodes(truth, (i) => i < 100, 0), withCodes(truth, (i) => i < 100, 0)];
    const { runs, plane } = await judged({ truth, planes: reads }, 24);
    expect(plane[200]).toBe(truth[200] * 256);
    expect(runs[0]).toMatchObject({ state: 'unproven', lost: true });
    expect(runs[3]).toMatchObject({ state: 'proven' });
  });

  test('a sample of that value in a read whose carrier has no such code is a sample', async () => {
    const truth = noise(seeded(7), 9000, 500);
    truth[40] = CODE;
    const captures = [1, 2].map((pass) => captureOf({ pass, planes: [truth] }));
    expect(runPerFrame(await outcomeOf(captures), 1)[40].state).toBe('proven');
  });
});
