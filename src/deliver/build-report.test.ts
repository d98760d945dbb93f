// Truth: hand-made runs with sums known beforehand, and random runs counted frame by frame in plain arrays.
import fc from 'fast-check';
import { expect, test } from 'vitest';
import { rate, stableJson } from '../base/index.ts';
import { LOSS_KINDS } from '../examine/index.ts';
import type { ProofState, ProvenanceRun } from '../reconcile/index.ts';
import { buildReport, type ReportInput } from './build-report.ts';
import { isKindOfLoss } from './kinds.ts';
import { LOST, RATE, runsOf, sampleFinding, sampleInput } from './testing/sample-report.ts';

const HOLE_AT = 48_000 * 12;

function small(runs: readonly ProvenanceRun[], frames: number, at = RATE): ReportInput {
  const alignment = { reference: 0, placements: [], slips: [], loops: [], groups: [[0]] };
  const groups = [{ group: 0, start: 0, length: frames, rate: at, runs }];
  return { ...sampleInput(), captures: [], alignment, groups, levels: [], codeBooks: [] };
}

test('the sentence names what is lost, where, and on which channels', () => {
  const hole = (length: number, at: number): [number, number, ProofState, string] => [at, length, 'unproven', LOST];
  const frames = 48_000 * 5400;
  const report = buildReport(
    small(
      [
        ...runsOf(1, 'proven', [hole(5760, 48_000 * 2650 + 96)], frames),
        ...runsOf(3, 'proven', [hole(14_400, 48_000 * 723 + 5760)], frames),
        ...runsOf(4, 'proven', [hole(14_400, 48_000 * 723 + 5760)], frames),
        ...runsOf(5, 'unproven', [], frames),
        ...runsOf(6, 'unproven', [], frames),
      ],
      frames,
    ),
  );
  expect(report.sentence).toBe(
    '0.42 s of 5400.00 s could not be recovered, at 0:12:03.120 (0.30 s, channels 3-4), 0:44:10.002 (0.12 s, channel 1).',
  );
  expect(report.statements).toContain('No sample is vouched for by a second read on channels 5-6.');
  expect(report.statements.join(' ')).not.toContain('100 %');
});

test('nothing lost is said with its limit, never as perfection', () => {
  const report = buildReport(small(runsOf(1, 'proven', [], 96_000), 96_000));
  expect(report.sentence).toBe(
    'Nothing is known to be missing from 2.00 s; what could not have been seen is stated under detection limits.',
  );
  expect(report.statements).toEqual(['On channel 1 every sample is equal in at least two independent reads.']);
});

test('a loss of a few samples is never rounded to nothing', () => {
  const report = buildReport(small(runsOf(1, 'proven', [[HOLE_AT, 3, 'unproven', LOST]], HOLE_AT * 2), HOLE_AT * 2));
  expect(report.sentence).toContain(
    '3 samples of 24.00 s could not be recovered, at 0:00:12.000 (3 samples, channel 1)',
  );
  expect(report.statements[0]).toContain('99.999 % is equal');
});

test('many places: the longest are named in order of time, all are counted', () => {
  const holes = Array.from({ length: 30 }, (_, i): [number, number, ProofState, string] => {
    return [48_000 * (i + 1), 480 + 48 * ((i * 7) % 30), 'unproven', LOST];
  });
  const report = buildReport(small(runsOf(1, 'proven', holes, 48_000 * 60), 48_000 * 60));
  expect(report.places).toHaveLength(30);
  expect(report.sentence).toMatch(/in 30 places, the longest at /);
  expect(report.sentence.match(/channel 1\)/g)).toHaveLength(5);
});

test('sentence, totals, places, stripes and tallies are one and the same count (random runs, counted frame by frame)', () => {
  const state = fc.constantFrom<ProofState>('proven', 'chosen', 'unproven');
  const run = fc.record({ length: fc.integer({ min: 1, max: 300 }), state, lost: fc.boolean() });
  const channel = fc.array(run, { minLength: 1, maxLength: 40 });
  fc.assert(
    fc.property(
      fc.array(channel, { minLength: 1, maxLength: 4 }),
      fc.integer({ min: -500, max: 500 }),
      (rows, start) => {
        const frames = Math.min(...rows.map((runs) => runs.reduce((sum, r) => sum + r.length, 0)));
        const lostAt = new Uint8Array(frames);
        const runs: ProvenanceRun[] = [];
        rows.forEach((row, c) => {
          let at = 0;
          for (const r of row) {
            const length = Math.min(r.length, frames - at);
            if (length <= 0) break;
            const source = r.lost ? null : { capture: 0, fileChannel: 1 };
            const proof = r.lost ? 'unproven' : r.state;
            runs.push({ channel: c + 1, start: at, length, source, state: proof, reason: proof });
            if (r.lost) lostAt.fill(1, at, at + length);
            at += length;
          }
        });
        const at = rate(100);
        const input = small(runs, frames, at);
        const { isLost: _, ...plain } = input;
        const report = buildReport({ ...plain, groups: [{ group: 0, start, length: frames, rate: at, runs }] });
        const lost = lostAt.reduce((sum, one) => sum + one, 0);
        expect(report.totals.lostFrames).toBe(lost);
        // at 100 Hz every frame is 0.01 s, so that two decimals are exact
        const said = /^([\d.]+) (ms|s) of/.exec(report.sentence);
        expect(said ? Math.round(Number(said[1]) * (said[2] === 's' ? 100 : 0.1)) : 0).toBe(lost);
        expect(report.places.reduce((sum, place) => sum + place.lostFrames, 0)).toBe(lost);
        for (const [i, tally] of report.channels.entries()) {
          expect(tally.proven + tally.chosen + tally.unproven).toBe(frames);
          const sum = (values: readonly number[]) => values.reduce((all, value) => all + value, 0);
          const { proven, chosen, unproven, lost: gone } = report.stripes[i];
          expect(sum(proven)).toBe(tally.proven);
          expect(sum(chosen)).toBe(tally.chosen);
          expect(sum(gone)).toBe(tally.lost);
          expect(sum(unproven) + sum(gone)).toBe(tally.unproven);
          const spans = report.lost.filter((span) => span.channel === tally.channel);
          expect(spans.reduce((all, span) => all + span.length, 0)).toBe(tally.lost);
        }
      },
    ),
    { numRuns: 150 },
  );
});

test('lanes place findings on the timeline through the segments', () => {
  const input = sampleInput();
  const findings = [sampleFinding('held', 1000, 10), sampleFinding('muted', 0, 10, [2])];
  const captures = [{ ...input.captures[0], findings }];
  const placement = { ...input.alignment.placements[0], segments: [{ start: 500, length: 1000, offset: 4000 }] };
  const slips = [{ ...input.alignment.slips[0], capture: 0, at: 1010 }];
  const alignment = { ...input.alignment, placements: [placement], slips, groups: [[0]] };
  const report = buildReport({
    ...input,
    captures,
    alignment,
    groups: [{ group: 0, start: 0, length: 6000, rate: RATE, runs: runsOf(1, 'unproven', [], 6000) }],
  });
  // 6000 frames in 600 columns: timeline frame 5000 is column 500; the muted one lies in no segment
  expect(report.lanes[0].marks).toEqual([
    { kind: 'held', column: 500, count: 1, frames: 10 },
    { kind: 'slip', column: 501, count: 1, frames: 1 },
  ]);
  expect(report.lanes[1].marks).toEqual([{ kind: 'slip', column: 501, count: 1, frames: 1 }]);
  expect(report.lanes[0].covered).toEqual([[450, 549]]);
  expect(report.losses).toEqual([
    { capture: 0, fileChannel: 1, channel: 1, kind: 'held', count: 1, frames: 10, seconds: 10 / 48_000 },
    { capture: 0, fileChannel: 2, channel: 2, kind: 'muted', count: 1, frames: 10, seconds: 10 / 48_000 },
  ]);
});

test('a refused join makes a part of its own and is named with what would help', () => {
  const input = sampleInput();
  const placements = input.alignment.placements.map((p) =>
    p.capture === 4 ? { ...p, group: 1, reason: 'no overlap' } : p,
  );
  const alignment = { ...input.alignment, placements, groups: [[0, 1, 2, 3], [4]] };
  const runs = runsOf(5, 'unproven', [[4800, 96, 'unproven', LOST]]);
  const second = { ...input.groups[0], group: 1, runs };
  const report = buildReport({ ...input, alignment, groups: [input.groups[0], second] });
  expect(report.refusedJoins).toEqual([{ group: 1, captures: ['p3-north.wav'], reason: 'no overlap' }]);
  expect(report.sentence).toContain('0:00:00.100 of part 2 (2.0 ms, channel 5)');
  expect(report.masters.map((master) => master.group)).toEqual([0, 1]);
  expect(report.provenance.every((run) => run.group !== undefined)).toBe(true);
  expect(report.statements.join(' ')).toContain('Not joined with the rest: p3-north.wav. no overlap');
});

test('cautions appear only where they apply', () => {
  const report = buildReport(sampleInput());
  const all = report.cautions.join('\n');
  expect(all).toContain('All reads come from one deck (bench-2)');
  expect(all).toContain('Channels 3-4: the values follow a companding law (dat-12-bit)');
  expect(all).not.toContain('analogue');
  expect(all).not.toContain('true rate');
  const odd = sampleInput();
  const master = { ...odd.groups[0].master!, rate: rate(4_500_000, 143), headerRateHz: 31_469 };
  const oddReport = buildReport({ ...odd, groups: [{ ...odd.groups[0], master }] });
  expect(oddReport.cautions.join('\n')).toContain(
    'the true rate is 31468.531 Hz (4500000/143); its header says 31469 Hz',
  );
});

test('the report survives JSON: no value is lost, the contract keys are there', () => {
  const report = buildReport(sampleInput());
  const copy = JSON.parse(stableJson(report));
  expect(copy).toEqual(report);
  expect(copy.schema).toBe('tapeproof/report@1');
  expect(Object.keys(copy.provenance[0])).toEqual(['channel', 'start', 'length', 'source', 'state', 'reason']);
  expect(copy.channels[0]).toMatchObject({ channel: 1, chosen: 64_000, unproven: 5760, lost: 5760 });
});

test('the kinds drawn as losses are the kinds examine names', () => {
  for (const kind of LOSS_KINDS) expect(isKindOfLoss(kind)).toBe(true);
  expect(isKindOfLoss('clipped')).toBe(false);
});
