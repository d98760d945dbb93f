// DV streams as captures of the main job: two reads of one tape on two decks with a clogged head each. What either deck read is in the
// master, what neither read stands there as the code and is called lost. Truth: the test wrote the tape and the codes.
import { readFile, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { beforeAll, describe, expect, it } from 'vitest';
import { rate } from '../base/index.ts';
import type { TransferReport } from '../deliver/index.ts';
import { openAudio } from '../media/index.ts';
import { codeTrack, type Stream, tracksOfHead } from '../media/testing/dv-damage.ts';
import { countsOf, dvStream, total } from '../media/testing/dv-stream.ts';
import { tempFolder } from '../media/testing/tools.ts';
import { synthesiseProgramme } from '../simulate/index.ts';
import { assembleSheet } from './assemble-sheet.ts';
import { deriveFile } from './derive-file.ts';
import { examineFiles, examineNeedsPerson } from './examine-files.ts';
import { runNeedsPerson, runSheet } from './run-sheet.ts';

const CODE = -32_768;
const FRAMES = 240;
const COUNTS = countsOf(FRAMES, 1601.6);
/** the second read begins so many frames of the tape later */
const LATE = 17;
const LATE_SAMPLES = total(COUNTS.slice(0, LATE));

function read(planes: readonly Int32Array[], from: number): Stream {
  const start = total(COUNTS.slice(0, from));
  const own = planes.map((plane) => plane.subarray(start));
  const counts = COUNTS.slice(from);
  const shape = { lines: 525, rateHz: 48_000, word: 16, counts, timecode: 9000 + from } as const;
  return { bytes: dvStream({ ...shape, planes: own }), lines: 525, word: 16 };
}

/** Frames of the tape at which a head is away. */
function clog(stream: Stream, from: number, head: 0 | 1, first: number, last: number): void {
  for (let f = first; f <= last; f++)
    for (const track of tracksOfHead(525, '6.35 mm', head, f)) codeTrack(stream, f - from, track);
}

describe('two DV reads of one tape', () => {
  let folder: string;
  let planes: readonly Int32Array[];
  let report: TransferReport;
  let master: readonly Int32Array[];

  beforeAll(async () => {
    folder = await tempFolder();
    const sound = synthesiseProgramme({ channels: 2, seconds: 9, rate: rate(48_000), bits: 16, seed: 5 });
    planes = sound.planes.map((plane) =>
      Int32Array.from(plane.subarray(0, total(COUNTS)), (v) => Math.max(v, CODE + 1)),
    );
    const [one, two] = [read(planes, 0), read(planes, LATE)];
    clog(one, 0, 0, 60, 99);
    clog(two, LATE, 1, 80, 120);
    for (const [stream, from] of [
      [one, 0],
      [two, LATE],
    ] as const)
      codeTrack(stream, 150 - from, 3);
    await writeFile(join(folder, 'p1.dv'), one.bytes);
    await writeFile(join(folder, 'p2.dv'), two.bytes);
    const captures = [1, 2].map((pass) => `  - { file: p${pass}.dv, pass: ${pass}, channels: [1, 2] }`);
    const sheet = `tape: { id: HB-0500, format: dv-525-48k }\ncaptures:\n${captures.join('\n')}\n`;
    await writeFile(join(folder, 'sheet.yaml'), sheet);
    report = await runSheet(join(folder, 'sheet.yaml'), { out: join(folder, 'out') });
    const audio = await openAudio(join(folder, 'out/master.wav'));
    master = (await audio.read(0, audio.info.frames)).planes.map((plane) => plane.slice());
    await audio.close();
  });

  it('places the second read by its samples, and writes a master of the tape’s word', () => {
    expect(report.alignment.placements.every(({ differingFrames }) => differingFrames === 0)).toBe(true);
    expect(report.alignment.placements.map(({ segments }) => segments[0].offset)).toEqual([0, LATE_SAMPLES]);
    expect(report.masters[0]).toMatchObject({ bits: 16, frames: total(COUNTS), channels: [1, 2] });
  });

  it('recovers what either deck read; the rest stands as the code and is lost', () => {
    let lost = 0;
    let wrong = 0;
    for (const [c, plane] of master.entries()) {
      for (const run of report.provenance.filter(({ channel }) => channel === c + 1)) {
        for (let i = run.start; i < run.start + run.length; i++) {
          if (plane[i] !== (run.lost ? CODE : planes[c][i])) wrong++;
          if (run.lost) lost++;
        }
      }
    }
    expect(wrong).toBe(0);
    // Track 3 of frame 150 belongs to channel 1 and is lost in both reads: a fifth of the frame.
    expect(Math.abs(lost - COUNTS[150] / 5)).toBeLessThan(3);
    expect(report.channels.map(({ channel, lost: own }) => [channel, own])).toEqual([
      [1, lost],
      [2, 0],
    ]);
  });

  it('calls chosen what one deck alone read, and proven what both did', () => {
    const stateAt = (frame: number, n: number, channel: number) => {
      const at = total(COUNTS.slice(0, frame)) + n;
      return report.provenance.find((run) => run.channel === channel && run.start <= at && at < run.start + run.length);
    };
    // Block 1, even tracks lost: xxx.. ; odd tracks lost: ...xx
    expect(stateAt(70, 5, 1)).toMatchObject({ state: 'chosen', source: { capture: 1, fileChannel: 1 } });
    expect(stateAt(90, 5, 1)).toMatchObject({ state: 'chosen', source: { capture: 1 } });
    expect(stateAt(90, 8, 1)).toMatchObject({ state: 'chosen', source: { capture: 0 } });
    expect(stateAt(130, 5, 1)).toMatchObject({ state: 'proven' });
  });

  it('tells what the tape says in every face of the report, and wants a person', async () => {
    expect(runNeedsPerson(report)).toBe(true);
    expect(report.captures[0].findings.filter(({ kind }) => kind === 'error-code').length).toBeGreaterThan(1);
    const facts = report.captures[0].carrier?.[0];
    expect(facts?.kind === 'dv' && facts.timecode.runs[0]).toMatchObject({ from: '00:05:00:00', frames: FRAMES });
    for (const name of ['report.txt', 'report.html', 'report.json']) {
      const text = await readFile(join(folder, 'out', name), 'utf8');
      expect(text).toContain('error-code');
      expect(text).toContain('525/60');
    }
  });

  it('assembles the same master again from the edit list', async () => {
    const again = await assembleSheet(join(folder, 'out/edit-list.json'), { out: join(folder, 'again.wav') });
    expect(again.masters[0].digests.audio.sha256).toBe(report.masters[0].digests.audio.sha256);
  });

  it('derive covers the codes of the stream, or of the master, in a copy that says so', async () => {
    const copy = await deriveFile(join(folder, 'p1.dv'), { cover: 'tape', out: join(folder, 'p1.listen.wav') });
    expect(copy.steps[0]).toContain('They are invented.');
    const derived = await openAudio(copy.out);
    const { planes: own } = await derived.read(0, derived.info.frames);
    await derived.close();
    const first = total(COUNTS.slice(0, 70));
    // Block 1 without even tracks: three samples of five, on the line between their neighbours.
    const [a, b] = [planes[0][first + 4], planes[0][first + 8]];
    const line = [1, 2, 3].map((k) => Math.round(a + ((b - a) * k) / 4));
    expect([...own[0].subarray(first + 4, first + 9)]).toEqual([a, ...line, b]);
    expect(own.some((plane) => plane.includes(CODE))).toBe(false);
    const ofMaster = { cover: `${CODE}`, out: join(folder, 'master.listen.wav') };
    const again = await deriveFile(join(folder, 'out/master.wav'), ofMaster);
    expect(Number(/^\d+/.exec(again.steps[0])?.[0])).toBe(report.channels[0].lost);
    await expect(deriveFile(join(folder, 'out/master.wav'), { cover: 'tape' })).rejects.toThrow('has no code');
    await expect(deriveFile(join(folder, 'p1.dv'), { cover: 'x' })).rejects.toThrow('not a sample');
  });

  it('examine: no detector takes a code for a click, a clipped peak or another law', async () => {
    const document = await examineFiles([join(folder, 'p1.dv')]);
    const [file] = document.files;
    expect(examineNeedsPerson(document)).toBe(true);
    const damaged = file.findings.filter(({ detector }) => detector === 'carrier');
    const inside = file.findings.filter(
      ({ detector, start }) =>
        detector !== 'carrier' && damaged.some((loss) => loss.start <= start && start < loss.start + loss.length),
    );
    expect(inside.map(({ kind }) => kind)).toEqual([]);
    const answers = (question: string) =>
      file.verdicts.filter((v) => v.question === question).map(({ answer }) => answer);
    expect(answers('word-length')).toEqual([16, 16]);
    expect(answers('clipped')).toEqual([false, false]);
    expect(answers('held-seen')).toEqual([0, 0]);
    const codes = answers('lost-by-carrier').map(Number);
    // Even tracks: three fifths of channel 1 and two fifths of channel 2 for 40 frames, and one track more of channel 1.
    expect(Math.abs(codes[0] - 1601.6 * (40 * 0.6 + 0.2))).toBeLessThan(100);
    expect(Math.abs(codes[1] - 1601.6 * 40 * 0.4)).toBeLessThan(100);
  });
});
