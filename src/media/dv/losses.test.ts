// Error codes are counted by frame, track and channel exactly as they were put in, stay in the samples, and one lost head leaves the
// patterns of the facts sheet. Truth: the tests write the codes. Tolerance: none.
import { writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import { findFormat, lossText } from '../../tape/index.ts';
import type { CarrierLoss, CarrierReport } from '../carrier.ts';
import { openAudio } from '../index.ts';
import { codeBlock, codeTrack, type Stream, tracksOfHead } from '../testing/dv-damage.ts';
import { countsOf, dvStream, total } from '../testing/dv-stream.ts';
import { libdvSound } from '../testing/libdv-judge.ts';
import { randomWords } from '../testing/signals.ts';
import { tempFolder } from '../testing/tools.ts';
import { lostValueOf } from './decode-frame.ts';

interface Passed {
  readonly report: CarrierReport;
  readonly planes: readonly Int32Array[];
  readonly problems: readonly string[];
  readonly readAs: string;
}

async function passed(bytes: Uint8Array): Promise<Passed> {
  const path = join(await tempFolder(), 'tape.dv');
  await writeFile(path, bytes);
  const audio = await openAudio(path);
  const planes = Array.from({ length: audio.info.channels }, () => new Int32Array(audio.info.frames));
  const pass = audio.pass({ blockFrames: 999 });
  for await (const block of pass.blocks)
    for (const [c, plane] of block.planes.entries()) planes[c].set(plane, block.start);
  await audio.close();
  const report = pass.carrier?.();
  if (!report) throw new Error('no report of the carrier');
  return { report, planes, problems: pass.problems().map(({ id }) => id), readAs: audio.info.readAs };
}

const MODES = {
  '525 16': { lines: 525, rateHz: 48_000, word: 16, mean: 1601.6, code: -32_768 },
  '625 16': { lines: 625, rateHz: 48_000, word: 16, mean: 1920, code: -32_768 },
  '525 12': { lines: 525, rateHz: 32_000, word: 12, mean: 1067.733, code: -32_705 },
  '625 12': { lines: 625, rateHz: 32_000, word: 12, mean: 1280, code: -32_705 },
} as const;
type Mode = keyof typeof MODES;

function stream(mode: Mode, frames: number): Stream & { readonly counts: readonly number[] } {
  const { lines, rateHz, word, mean } = MODES[mode];
  const counts = countsOf(frames, mean);
  const next = randomWords(frames + lines);
  const planes = Array.from({ length: word === 12 ? 4 : 2 }, () =>
    Int32Array.from({ length: total(counts) }, () => (next() >> 24) * (word === 12 ? 12 : 200)),
  );
  return { bytes: dvStream({ lines, rateHz, word, planes, counts, timecode: 100 }), lines, word, counts };
}

/** Lost samples of a channel by frame, from the runs of the report. */
function samplesOf(losses: readonly CarrierLoss[], channel: number): number {
  return losses.filter((loss) => loss.channel === channel).reduce((sum, { samples }) => sum + samples, 0);
}

describe('error codes', () => {
  for (const mode of Object.keys(MODES) as Mode[]) {
    test(`${mode} bit: counted by frame, track and channel, and left in the samples`, async () => {
      const made = stream(mode, 6);
      const half = made.lines === 525 ? 5 : 6;
      const hits = [
        [0, 0, 0],
        [0, half, 8],
        [2, 3, 4],
        [2, half + 1, 2],
        [5, half - 1, 7],
      ] as const;
      for (const [frame, sequence, block] of hits) codeBlock(made, frame, sequence, block);
      const { report, planes, problems, readAs } = await passed(made.bytes);
      expect([problems, readAs]).toEqual([[], 'whole']);
      const perBlock = made.word === 16 ? 1 : 2;
      expect(report.losses).toHaveLength(hits.length * perBlock);
      for (const loss of report.losses) {
        const start = total(made.counts.slice(0, loss.firstFrame));
        const length = made.counts[loss.firstFrame];
        expect(loss).toMatchObject({ cause: 'error-code', frames: 1, start, length });
        const inside = planes[loss.channel - 1].slice(start, start + length);
        const coded = inside.filter((value) => value === MODES[mode].code).length;
        expect(loss.samples).toBe(coded);
        expect(loss.tracks).toEqual([{ track: loss.tracks[0].track, samples: coded }]);
        // A block holds every 45th or 54th sample of the frame.
        const every = 9 * half;
        expect([Math.floor(length / every), Math.ceil(length / every)]).toContain(coded);
      }
      const placed = report.losses.map(({ firstFrame, tracks }) => `${firstFrame} ${tracks[0].track}`);
      expect(new Set(placed)).toEqual(new Set(hits.map(([frame, sequence]) => `${frame} ${sequence}`)));
      const all = planes.reduce((sum, plane) => sum + plane.filter((value) => value === MODES[mode].code).length, 0);
      expect(report.losses.reduce((sum, { samples }) => sum + samples, 0)).toBe(all);
    });
  }

  test('frames that lost the same tracks are one run; others are told apart; the sums stay exact', async () => {
    const made = stream('525 16', 12);
    for (let f = 3; f < 9; f++) codeTrack(made, f, 2);
    codeTrack(made, 6, 4);
    const { report, planes } = await passed(made.bytes);
    expect(
      report.losses.map(({ firstFrame, frames, tracks }) => [firstFrame, frames, tracks.map(({ track }) => track)]),
    ).toEqual([
      [3, 3, [2]],
      [6, 1, [2, 4]],
      [7, 2, [2]],
    ]);
    expect(samplesOf(report.losses, 1)).toBe(planes[0].filter((value) => value === -32_768).length);
    expect(report.facts[0].kind === 'dv' && report.facts[0].lostByTrack[0][2]).toBeGreaterThan(6 * 318);
  });

  test('the values are those of the tape layer', () => {
    const said = (id: string) => findFormat(id).errorCodes?.map(({ value }) => value.sample);
    expect(said('dv-525-48k')).toEqual([lostValueOf(16)]);
    expect(said('dv-625-32k-4ch')).toEqual([lostValueOf(12)]);
  });

  test('a value next to the code is a sample', async () => {
    const counts = [1600];
    const planes = [Int32Array.from({ length: 1600 }, (_, i) => (i % 2 ? -32_767 : 32_767)), new Int32Array(1600)];
    const { report } = await passed(dvStream({ lines: 525, rateHz: 48_000, word: 16, planes, counts }));
    expect(report.losses).toEqual([]);
  });
});

describe('a second decoder', () => {
  for (const mode of ['525 16', '625 16'] as const) {
    test(`${mode} bit: libdv has the same samples, codes included, and sees the same blocks fail`, async (context) => {
      const made = stream(mode, 5);
      codeTrack(made, 1, 3);
      codeBlock(made, 3, 0, 5);
      codeBlock(made, 3, 7, 1);
      const path = join(await tempFolder(), 'tape.dv');
      await writeFile(path, made.bytes);
      const judge = await libdvSound(context, path);
      const { planes, report } = await passed(made.bytes);
      expect(judge.frames.map(({ samples }) => samples)).toEqual(made.counts);
      expect([...planes]).toEqual([...judge.planes]);
      const ours = made.counts.map((_, f) =>
        report.losses.filter(({ firstFrame }) => firstFrame === f).reduce((sum, { samples }) => sum + samples, 0),
      );
      // The library counts all 36 places of a block, also those behind the last sample of the frame.
      expect(judge.frames.map(({ failed }) => failed)).toEqual([0, 9 * 36, 0, 2 * 36, 0]);
      const starts = made.counts.map((_, f) => total(made.counts.slice(0, f)));
      const codes = starts.map((start, f) =>
        judge.planes.reduce(
          (sum, p) => sum + p.slice(start, start + made.counts[f]).filter((v) => v === -32_768).length,
          0,
        ),
      );
      expect(ours).toEqual(codes);
    });
  }
});

describe('one of two heads lost (facts sheet 4.8)', () => {
  const rows = [
    ['6.35 mm', '525', 0, 'dv-525-48k', 'even-track-head'],
    ['6.35 mm', '525', 1, 'dv-525-48k', 'odd-track-head'],
    ['6.35 mm', '625', 0, 'dv-625-48k', 'even-track-head'],
    ['6.35 mm', '625', 1, 'dv-625-48k', 'odd-track-head'],
    ['8 mm', '525', 0, 'dv-8mm-525-48k', 'scan-0-head'],
    ['8 mm', '625', 0, 'dv-8mm-625-48k', 'scan-0-head'],
    ['8 mm', '625', 1, 'dv-8mm-625-48k', 'scan-1-head'],
    ['6.35 mm', '525', 0, 'dv-525-32k-4ch', 'even-track-head'],
    ['8 mm', '525', 0, 'dv-8mm-525-32k-4ch', 'scan-0-head'],
  ] as const;
  for (const [carrier, lines, head, id, loss] of rows) {
    test(`${id}: ${loss}`, async () => {
      const mode = `${lines} ${id.endsWith('4ch') ? 12 : 16}` as Mode;
      const made = stream(mode, 4);
      for (let f = 0; f < 4; f++)
        for (const track of tracksOfHead(made.lines, carrier, head, f)) codeTrack(made, f, track);
      const { planes } = await passed(made.bytes);
      const pattern = findFormat(id).losses.find((candidate) => candidate.id === loss);
      if (!pattern) throw new Error(`${id} has no ${loss}`);
      let start = 0;
      for (const [f, count] of made.counts.entries()) {
        for (const [c, plane] of planes.entries()) {
          const seen = Array.from(plane.subarray(start, start + pattern.period), (v) =>
            v === MODES[mode].code ? 'x' : '.',
          );
          const expected = lossText(pattern, c + 1, f);
          expect(`frame ${f} channel ${c + 1} ${seen.join('')}`).toBe(`frame ${f} channel ${c + 1} ${expected}`);
          const whole = Array.from(plane.subarray(start, start + count), (v) =>
            v === MODES[mode].code ? 'x' : '.',
          ).join('');
          expect(whole).toBe(expected.repeat(count).slice(0, count));
        }
        start += count;
      }
    });
  }
});
