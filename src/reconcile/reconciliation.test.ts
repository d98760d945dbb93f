import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { isCancelled } from '../base/index.ts';
import { planReconcile } from './plan.ts';
import { reconcile } from './reconciliation.ts';
import { outcomeOf, runPerFrame } from './testing/outcome.ts';
import { alignmentOf, captureOf, damaged, noise, randomBurst, seeded } from './testing/reads.ts';
import { randomTransfer } from './testing/transfer.ts';

describe('any transfer', () => {
  test('every sample equals a read that covers it, or is a declared silence; runs abut and cover everything', async () => {
    await fc.assert(
      fc.asyncProperty(fc.integer({ min: 1, max: 1e9 }), async (seed) => {
        const { captures, alignment, valueAt } = randomTransfer(seed);
        const outcome = await outcomeOf(captures, alignment);
        for (const [c, { channel }] of outcome.plan.channels.entries()) {
          const runs = outcome.runs.filter((r) => r.channel === channel);
          let end = 0;
          for (const run of runs) {
            expect(run.start).toBe(end);
            expect(run.length).toBeGreaterThan(0);
            end += run.length;
          }
          expect(end).toBe(outcome.plan.frames);
          for (const [i, run] of runPerFrame(outcome, channel).entries()) {
            const timeline = i + outcome.plan.start;
            const covering = outcome.plan.channels[c].reads.filter((r) => valueAt(r, timeline) !== undefined);
            if (run.source === null) expect([covering.length, outcome.planes[c][i]]).toEqual([0, 0]);
            else expect(valueAt(run.source, timeline)).toBe(outcome.planes[c][i]);
          }
        }
      }),
      { numRuns: 40, seed: 7 },
    );
  });

  test('tallies, reasons and stripe add up to the frames', async () => {
    await fc.assert(
      fc.asyncProperty(fc.integer({ min: 1, max: 1e9 }), async (seed) => {
        const { captures, alignment } = randomTransfer(seed);
        const { session, plan, runs } = await outcomeOf(captures, alignment);
        expect(session.runCount()).toBe(runs.length);
        for (const [c, tally] of session.tallies().entries()) {
          expect(tally.proven + tally.chosen + tally.unproven).toBe(plan.frames);
          expect(tally.lost).toBeLessThanOrEqual(tally.unproven);
          const byReason = Object.values(session.reasons()[c].frames).reduce((sum, n) => sum + n, 0);
          expect(byReason).toBe(plan.frames);
          const columns = session.stripe(37)[c].columns;
          const shares = columns.map((x) => x.proven + x.chosen + x.unproven);
          expect(shares.every((share) => Math.abs(share - 1) < 1e-12)).toBe(true);
          const lost = columns.reduce((sum, x) => sum + x.lost * (plan.frames / columns.length), 0);
          // columns differ by at most one frame in width
          expect(Math.abs(lost - tally.lost)).toBeLessThanOrEqual(columns.length);
        }
      }),
      { numRuns: 20, seed: 8 },
    );
  });

  test.each([1, 7, 1000, 65_536])(
    'gives the same samples and provenance in blocks of %i frames',
    async (blockFrames) => {
      for (const seed of [11, 12, 13]) {
        const { captures, alignment } = randomTransfer(seed);
        const whole = await outcomeOf(captures, alignment, { blockFrames: 1 << 20 });
        const cut = await outcomeOf(captures, alignment, { blockFrames });
        expect(cut.planes).toEqual(whole.planes);
        expect(cut.runs).toEqual(whole.runs);
        expect(cut.session.agreement()).toEqual(whole.session.agreement());
      }
    },
  );

  test('long recordings slide through the window unchanged', async () => {
    const random = seeded(5);
    const truth = noise(random, 120_000, 2000);
    const reads = [1, 2, 3].map(() =>
      damaged(
        truth,
        Array.from({ length: 300 }, () => randomBurst(random, truth.length, 60)),
      ),
    );
    const captures = reads.map((plane, i) => captureOf({ pass: i + 1, planes: [plane] }));
    const whole = await outcomeOf(captures, undefined, { blockFrames: 1 << 20 });
    const cut = await outcomeOf(captures, undefined, { blockFrames: 4999 });
    expect(cut.runs).toEqual(whole.runs);
    expect(cut.planes).toEqual(whole.planes);
  });
});

describe('one channel', () => {
  const truth = noise(seeded(9), 3000, 3000);
  const finding = { kind: 'held', channels: [1], confidence: 0.9, start: 500, length: 100 };

  test('of two equal reads is proven in one run', async () => {
    const captures = [1, 2].map((pass) => captureOf({ pass, planes: [truth] }));
    const { runs, session, planes } = await outcomeOf(captures);
    expect(runs).toHaveLength(1);
    expect(runs[0]).toMatchObject({ start: 0, length: 3000, state: 'proven', reason: 'equal in pass 1 and pass 2' });
    expect(planes[0]).toEqual(truth);
    expect(session.agreement()).toMatchObject([{ comparedFrames: 3000, equalFrames: 3000 }]);
  });

  test('of one read is unproven, and lost where it is concealed', async () => {
    const { session } = await outcomeOf([captureOf({ pass: 1, planes: [truth], findings: [finding] })]);
    expect(session.tallies()[0]).toMatchObject({ proven: 0, chosen: 0, unproven: 3000, lost: 100 });
    expect(session.reasons()[0].frames).toEqual({ 'single-read': 2900, 'single-read-concealed': 100 });
  });

  test('of two recorders of one pass is chosen: the replay is not proven', async () => {
    const captures = ['a', 'b'].map((name) => captureOf({ pass: 1, planes: [truth], name }));
    const { session, runs } = await outcomeOf(captures);
    expect(session.reasons()[0].frames).toEqual({ 'same-pass-only': 3000 });
    expect(runs[0].reason).toMatch(/pass 1 \(a\) and pass 1 \(b\)/);
  });

  test('takes the read without the finding, though neither looks concealed', async () => {
    const faded = truth.slice();
    for (let i = 500; i < 600; i++) faded[i] = Math.round(truth[i] / 3) + 7;
    const captures = [
      captureOf({ pass: 1, planes: [faded], findings: [finding] }),
      captureOf({ pass: 2, planes: [truth] }),
    ];
    const { planes, session, runs } = await outcomeOf(captures);
    expect(planes[0]).toEqual(truth);
    expect(session.tallies()[0]).toMatchObject({ chosen: 100, unproven: 0 });
    expect(runs.find((r) => r.state === 'chosen')?.reason).toMatch(/examination found concealment here in pass 1/);
  });

  test('of a copy that an editor may have made takes the read without it, where the other has it not', async () => {
    const repeat = truth.slice().copyWithin(500, 400, 500);
    const copied = { ...finding, kind: 'copied' };
    const [once, twice] = [
      captureOf({ pass: 2, planes: [truth] }),
      captureOf({ pass: 1, planes: [repeat], findings: [copied] }),
    ];
    const { planes, session, runs } = await outcomeOf([twice, once]);
    expect(planes[0]).toEqual(truth);
    expect(session.tallies()[0]).toMatchObject({ unproven: 0 });
    expect(runs.find((r) => r.state === 'chosen')?.reason).toBe(
      'pass 1 has the same samples twice here, which no other read has',
    );

    const both = await outcomeOf([twice, captureOf({ pass: 2, planes: [repeat], findings: [copied] })]);
    expect(both.session.tallies()[0]).toMatchObject({ proven: repeat.length, lost: 0 });
  });

  test("of an error within a copy that both reads have is unproven: the copy is the tape's", async () => {
    const repeat = truth.slice().copyWithin(500, 400, 500);
    const wrong = repeat.slice();
    wrong[550] += 5000;
    const copied = { ...finding, kind: 'copied' };
    const parts = [
      { ...copied, length: 50 },
      { ...copied, kind: 'repeated', start: 551, length: 49 },
    ];
    const { session } = await outcomeOf([
      captureOf({ pass: 1, planes: [repeat], findings: [copied] }),
      captureOf({ pass: 2, planes: [wrong], findings: parts }),
    ]);
    expect(session.tallies()[0].chosen).toBe(0);
    expect(session.reasons()[0].frames['reads-differ']).toBe(1);
  });

  test("of a click within a silence that may be an editor's is unproven", async () => {
    const silent = truth.slice().fill(0, 500, 600);
    const click = silent.slice();
    click[550] = 5000;
    const { session } = await outcomeOf([
      captureOf({ pass: 1, planes: [silent], findings: [{ ...finding, kind: 'silence' }] }),
      captureOf({ pass: 2, planes: [click] }),
    ]);
    expect(session.tallies()[0].chosen).toBe(0);
  });

  test('heals two lattices of opposite phase, each from the other read, and names the mechanism', async () => {
    const at = { start: 1000, length: 200, period: 2, lost: 1, mechanism: 'mean' } as const;
    const a = damaged(truth, [at]);
    const b = damaged(truth, [{ ...at, start: 1001 }]);
    const { planes, session, runs } = await outcomeOf(
      [1, 2].map((pass) => captureOf({ pass, planes: [pass === 1 ? a : b] })),
    );
    expect(planes[0]).toEqual(truth);
    expect(session.tallies()[0].chosen).toBe(200);
    expect(new Set(runs.filter((r) => r.state === 'chosen').map((r) => r.reason))).toEqual(
      new Set([
        'pass 1 looks interpolated here (odds over 1000000:1)',
        'pass 2 looks interpolated here (odds over 1000000:1)',
      ]),
    );
  });

  test('with a difference nobody can judge is unproven, from the read with fewer lost frames', async () => {
    const click = truth.slice();
    click[100] += 5000;
    const captures = [
      captureOf({ pass: 1, planes: [click], findings: [finding] }),
      captureOf({ pass: 2, planes: [truth] }),
    ];
    const { session, planes } = await outcomeOf(captures);
    expect(session.reasons()[0].frames['reads-differ']).toBe(1);
    expect(planes[0]).toEqual(truth);
  });

  test('of a scaled capture alone is unproven and says why', async () => {
    const captures = [
      captureOf({ pass: 1, planes: [truth], channels: [1] }),
      captureOf({ pass: 2, planes: [truth], channels: [2] }),
    ];
    const { runs, session } = await outcomeOf(captures, alignmentOf(captures, [{}, { relation: 'scaled' }]));
    expect(runs[1]).toMatchObject({ channel: 2, state: 'unproven', reason: expect.stringMatching(/not bit-equal/) });
    expect(session.tallies()[1]).toMatchObject({ unproven: 3000, lost: 0 });
  });

  test('of 16 and 24 bit captures is compared left-justified, and the true step is found', async () => {
    const burst = { start: 700, length: 30, period: 1, lost: 1, mechanism: 'mean' } as const;
    const wide = damaged(truth, [burst]).map((v) => v << 8);
    const captures = [captureOf({ pass: 1, planes: [truth] }), captureOf({ pass: 2, planes: [wide], bits: 24 })];
    const { planes, session } = await outcomeOf(captures);
    expect(planes[0]).toEqual(truth.map((v) => v << 8));
    expect(session.tallies()[0]).toMatchObject({ chosen: 30, unproven: 0 });
  });

  test('is silent where nothing covers it, and says so', async () => {
    const captures = [captureOf({ pass: 1, planes: [truth] })];
    const segments = [
      { start: 0, length: 1000, offset: 0 },
      { start: 1000, length: 2000, offset: 50 },
    ];
    const { runs, planes, session } = await outcomeOf(captures, alignmentOf(captures, [{ segments }]));
    expect(runs[1]).toMatchObject({ start: 1000, length: 50, source: null, state: 'unproven' });
    expect(planes[0].subarray(1000, 1050).every((v) => v === 0)).toBe(true);
    expect(session.tallies()[0].lost).toBe(50);
  });
});

describe('the session', () => {
  const captures = [1, 2].map((pass) => captureOf({ pass, planes: [noise(seeded(1), 5000, 100)] }));
  const alignment = alignmentOf(captures);

  test('stops on request', async () => {
    const stop = { aborted: false };
    const session = reconcile(captures, alignment, planReconcile(captures, alignment), { blockFrames: 100, stop });
    const take = async () => {
      for await (const _ of session.blocks()) stop.aborted = true;
    };
    await expect(take()).rejects.toSatisfy(isCancelled);
  });

  test('names the capture that is shorter than its placement', async () => {
    const segments = [{ start: 0, length: 6000, offset: 0 }];
    const longer = alignmentOf(captures, [{}, { segments }]);
    await expect(outcomeOf(captures, longer)).rejects.toThrow(/pass-2.wav: ended sooner/);
  });
});
