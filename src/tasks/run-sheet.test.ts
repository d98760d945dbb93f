// The main job on real recorded music with known damage: the master equals the tape wherever a good read exists, every loss is
// found or listed as unproven, provenance covers everything, and the folder of results appears as a whole.
import { spawn } from 'node:child_process';
import { copyFile, mkdir, readdir, readFile, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { beforeAll, describe, expect, it } from 'vitest';
import { spanEnd } from '../base/index.ts';
import type { TransferReport } from '../deliver/index.ts';
import { openAudio } from '../media/index.ts';
import { REPOSITORY, type Skipping, tempFolder } from '../media/testing/tools.ts';
import { Random } from '../signal/index.ts';
import { makeTimecode, TIMECODE_RATES, wordsFrom } from '../signal/testing/made-timecode.ts';
import type { CaptureSpec, SimulatedTransfer } from '../simulate/index.ts';
import { assembleSheet } from './assemble-sheet.ts';
import { runNeedsPerson, runSheet } from './run-sheet.ts';
import { lossAt, realProgramme, recordedTape, TAPE_RATE, writeTransfer } from './testing/real-tape.ts';

const at = (seconds: number) => Math.round(seconds * 44_100);
const TORN = { start: at(4.2), length: at(0.05) };
const SLIP = { at: at(6), frames: 23 };

/** Eight channels, every one in two passes, each capture sharing a channel with another pass. */
const RING: readonly CaptureSpec[] = [
  { pass: 1, recorder: 'north', channels: [1, 2], startFrame: -4410 },
  { pass: 1, recorder: 'south', channels: [3, 4], startFrame: -1000 },
  { pass: 2, recorder: 'north', channels: [2, 3], startFrame: 0 },
  { pass: 2, recorder: 'south', channels: [4, 5], startFrame: 900 },
  { pass: 3, recorder: 'north', channels: [5, 6], startFrame: -30_000 },
  { pass: 3, recorder: 'south', channels: [7, 8], startFrame: 17, chain: [{ kind: 'drop', ...SLIP }] },
  { pass: 4, recorder: 'north', channels: [6, 7], startFrame: -17 },
  { pass: 4, recorder: 'south', channels: [8, 1], startFrame: -5000, chain: [{ kind: 'widen', bits: 24 }] },
].map((spec) => ({ ...spec, name: `p${spec.pass}-${spec.recorder}.wav` }) as CaptureSpec);

describe('run on real music', () => {
  let folder: string;
  let transfer: SimulatedTransfer;
  let report: TransferReport;
  let master: Int32Array[];

  beforeAll(async () => {
    folder = await tempFolder();
    const planes = await realProgramme({ skip: (note) => Promise.reject(new Error(note)) as never }, 9);
    const bursts = [60, 3, 12, 700, 25, 1, 130];
    const losses = (pass: number) =>
      [1, 2, 3, 4, 5, 6, 7, 8].flatMap((channel) =>
        bursts.map((length, k) => lossAt(channel, at(0.5 + k + 0.08 * channel + 0.35 * (pass % 2)), length, 'dropout')),
      );
    const passLosses = new Map([1, 2, 3, 4].map((pass) => [pass, losses(pass)]));
    transfer = recordedTape({ planes, torn: TORN, passLosses, captures: RING });
    report = await runSheet(await writeTransfer(folder, transfer), { out: join(folder, 'out') });
    const audio = await openAudio(join(folder, 'out/master.wav'));
    master = (await audio.read(0, audio.info.frames)).planes.map((plane) => plane.slice());
    await audio.close();
  });

  const tapeFrame = (frame: number) => frame + report.masters[0].start + transfer.captures[0].truth.segments[0].offset;

  /** Whether some capture holds the tape's sample, by the simulation's own truth. */
  const hasGoodRead = (channel: number, frame: number, value: number) =>
    transfer.captures.some(({ channels, planes, bits, truth }) =>
      truth.segments.some(({ start, length, offset }) => {
        const at = frame - offset;
        const plane = planes[channels.indexOf(channel)];
        return plane !== undefined && at >= start && at < start + length && plane[at] === value * 2 ** (bits - 16);
      }),
    );

  it('joins all captures, the one with the slip to the frame', () => {
    expect(report.alignment.groups).toHaveLength(1);
    const slip = transfer.captures[5].truth.slips[0];
    expect(report.slips).toMatchObject([{ capture: 5, at: slip.at, lostFrames: SLIP.frames }]);
  });

  it('calls nothing proven or chosen that is not what the tape holds, and is right wherever some read is', () => {
    const wrong = { proven: 0, chosen: 0, thoughReadable: 0 };
    for (const run of report.provenance) {
      for (let i = run.start; i < spanEnd(run); i++) {
        const frame = tapeFrame(i);
        const truth = transfer.tape.planes[run.channel - 1][frame] ?? 0;
        if (master[run.channel - 1][i] === truth * 256) continue;
        if (run.state !== 'unproven') wrong[run.state]++;
        if (hasGoodRead(run.channel, frame, truth)) wrong.thoughReadable++;
      }
    }
    const { thoughReadable, ...claimed } = wrong;
    expect(claimed).toEqual({ proven: 0, chosen: 0 });
    // Eight lone samples were interpolated; where the true one lies midway too, nobody can say, and it is listed as unproven.
    expect(thoughReadable).toBeLessThanOrEqual(2);
  });

  it('lists the torn spot on every channel as lost', () => {
    for (let channel = 1; channel <= 8; channel++) {
      const spans = report.lost.filter((span) => span.channel === channel);
      const covers = spans.some(
        (s) => tapeFrame(s.start) <= TORN.start && tapeFrame(spanEnd(s)) >= TORN.start + TORN.length,
      );
      expect(covers, `channel ${channel}`).toBe(true);
    }
    expect(report.sentence).toContain('could not be recovered');
    expect(runNeedsPerson(report)).toBe(true);
  });

  it('covers every frame of every channel with provenance, and the tallies are its sums', () => {
    for (const { channel, frames, proven, chosen, unproven } of report.channels) {
      const runs = report.provenance.filter((run) => run.channel === channel);
      let end = 0;
      for (const run of runs) {
        expect(run.start).toBe(end);
        end = spanEnd(run);
      }
      expect(end).toBe(frames);
      const sum = (state: string) => runs.filter((r) => r.state === state).reduce((all, r) => all + r.length, 0);
      expect([sum('proven'), sum('chosen'), sum('unproven')]).toEqual([proven, chosen, unproven]);
    }
  });

  it('renders the identical master again from the edit list', async () => {
    const document = await assembleSheet(join(folder, 'out/edit-list.json'), { out: join(folder, 'again') });
    expect(document.masters[0].digests).toEqual(report.masters[0].digests);
  });

  it('leaves every capture as it was', async () => {
    for (const [i, { name }] of transfer.captures.entries()) {
      const audio = await openAudio(join(folder, name));
      const pass = audio.pass();
      for await (const _ of pass.blocks);
      await audio.close();
      expect(pass.digests()).toEqual(report.captures[i].digests);
    }
  });

  it('writes a report whose JSON is the result and nothing but results in the folder', async () => {
    const json = JSON.parse(await readFile(join(folder, 'out/report.json'), 'utf8'));
    expect(json.provenance).toEqual(report.provenance);
    const names = ['edit-list.json', 'master.wav', 'report.html', 'report.json', 'report.txt'];
    expect((await readdir(join(folder, 'out'))).sort()).toEqual(names);
  });

  it('refuses to put a result in the place of a capture', async () => {
    const place = join(folder, 'place');
    await mkdir(place);
    await copyFile(join(folder, 'p1-north.wav'), join(place, 'master.wav'));
    const sheet = join(place, 'sheet.yaml');
    await writeFile(sheet, 'tape: { id: X }\ncaptures:\n  - { file: master.wav, pass: 1, channels: [1, 2] }\n');
    await expect(runSheet(sheet, { out: place })).rejects.toMatchObject({ kind: 'input' });
    expect(await readFile(join(place, 'master.wav'))).toEqual(await readFile(join(folder, 'p1-north.wav')));
  });

  it('leaves the old results whole when it is killed', async () => {
    const before = await readFile(join(folder, 'out/report.json'));
    const child = spawn(process.execPath, [
      join(REPOSITORY, 'bin/tapeproof.mjs'),
      'run',
      join(folder, 'sheet.yaml'),
      '--out',
      join(folder, 'out'),
    ]);
    await new Promise((done) => child.stderr.once('data', done));
    child.kill('SIGKILL');
    await new Promise((done) => child.once('exit', done));
    expect(await readFile(join(folder, 'out/report.json'))).toEqual(before);
    const after = await runSheet(join(folder, 'sheet.yaml'), { out: join(folder, 'out') });
    expect(after.masters[0].digests).toEqual(report.masters[0].digests);
    expect((await readdir(join(folder, 'out'))).filter((name) => name.startsWith('.'))).toEqual([]);
  });
});

describe('captures without common evidence', () => {
  it('are kept as masters of their own, with the reason and what would help', async (context) => {
    const folder = await tempFolder();
    const planes = await realProgramme(context, 5);
    const captures = RING.slice(0, 2);
    const transfer = recordedTape({ planes, captures });
    const report = await runSheet(await writeTransfer(folder, transfer), { out: join(folder, 'out') });
    expect(report.refusedJoins).toHaveLength(1);
    expect(report.refusedJoins[0].reason).toMatch(/no tape channel in common.*What would help/);
    expect(report.masters.map(({ path, channels }) => [path, channels])).toEqual([
      ['master.wav', [1, 2]],
      ['master-2.wav', [3, 4]],
    ]);
    expect(report.channels.every((tally) => tally.proven === 0 && tally.unproven === tally.frames)).toBe(true);
    expect(runNeedsPerson(report)).toBe(true);
  });

  it('join where the sheet declares their starts, and the report says that this is not proven', async (context) => {
    const folder = await tempFolder();
    const planes = await realProgramme(context, 5);
    const transfer = recordedTape({ planes, captures: RING.slice(0, 2) });
    const sheet = await writeTransfer(folder, transfer, [', offset: 0', ', offset: 3410']);
    const report = await runSheet(sheet, { out: join(folder, 'out') });
    expect(report.alignment.groups).toHaveLength(1);
    expect(report.alignment.placements[1]).toMatchObject({ method: 'declared on the sheet', uncertaintyFrames: null });
    const audio = await openAudio(join(folder, 'out/master.wav'));
    const {
      planes: [, , third],
    } = await audio.read(4410, 1000);
    await audio.close();
    expect(third).toEqual(planes[2].slice(0, 1000));
    expect(report.timelines[0].rate).toEqual(TAPE_RATE);
  });
});

describe('captures of one pass with timecode in common', () => {
  /** Each with the timecode of the pass on a file channel of its own, by way of an analogue input: other noise in each. */
  async function codedTransfer(context: Skipping) {
    const transfer = recordedTape({ planes: await realProgramme(context, 5), captures: RING.slice(0, 2) });
    const code = makeTimecode(wordsFrom([1, 0, 0], 150, TIMECODE_RATES[2]), { rateHz: 44_100, framesPerSecond: 25 });
    const random = new Random(12);
    const captures = transfer.captures.map((capture, i) => {
      const from = 10_000 + 3410 * i;
      const own = code.plane.slice(from, from + capture.planes[0].length);
      const heard = own.map((x) => Math.round(x + 400 * random.gaussian()));
      return { ...capture, planes: [...capture.planes, heard], channels: [...capture.channels, 0] };
    });
    return { ...transfer, captures };
  }

  it('are joined by it, found or declared, with its uncertainty, and the report says so', async (context) => {
    const transfer = await codedTransfer(context);
    for (const lines of [[], [', timecode: 3', ', timecode: 3']]) {
      const folder = await tempFolder();
      const report = await runSheet(await writeTransfer(folder, transfer, lines), { out: join(folder, 'out') });
      expect(report.alignment.groups).toEqual([[0, 1]]);
      const [, placed] = report.alignment.placements;
      expect(placed.method).toBe('timecode');
      expect(placed.uncertaintyFrames).toBeGreaterThanOrEqual(1);
      expect(Math.abs(placed.segments[0].offset - 3410)).toBeLessThanOrEqual(placed.uncertaintyFrames ?? 0);
      expect(report.masters.map(({ channels }) => channels)).toEqual([[1, 2, 3, 4]]);
      expect(report.cautions.join()).toMatch(/Placed by timecode, not by samples: p1-south\.wav \(± \d frames\)/);
      expect(report.cautions.join()).toContain(
        'p1-north.wav: file channel 3 is no sound (linear timecode): never send it',
      );
      expect(report.contradictions).toEqual([]);
    }
  });

  it('a channel that the sheet names and that carries none is told', async (context) => {
    const folder = await tempFolder();
    const transfer = await codedTransfer(context);
    const sheet = await writeTransfer(folder, transfer, [', timecode: 1', '']);
    const report = await runSheet(sheet, { out: join(folder, 'out') });
    expect(report.alignment.groups).toHaveLength(2);
    expect(report.contradictions.join()).toMatch(
      /p1-north\.wav: the sheet says that file channel 1 carries timecode; none/,
    );
  });
});

describe('a sheet that does not say what the samples say', () => {
  it('swapped channels are found by their samples, used as they are, and said', async (context) => {
    const folder = await tempFolder();
    const planes = await realProgramme(context, 5);
    const [first, , second] = RING;
    const captures = [
      first,
      { ...second, channels: [1, 2], chain: [{ kind: 'channels', order: [2, 1] }] },
    ] as CaptureSpec[];
    const transfer = recordedTape({ planes, captures });
    const report = await runSheet(await writeTransfer(folder, transfer), { out: join(folder, 'out') });
    expect(report.alignment.groups).toHaveLength(1);
    expect(report.contradictions).toHaveLength(1);
    expect(report.contradictions[0]).toMatch(/p2-north\.wav: the sheet says channels 1, 2.*as 2, 1/);
    expect(report.captures[1].channels).toEqual([2, 1]);
    expect(report.channels.every((tally) => tally.proven > 0.9 * tally.frames)).toBe(true);
    expect(runNeedsPerson(report)).toBe(true);
  });

  it('two reads of a channel that never agree are named', async (context) => {
    const folder = await tempFolder();
    const planes = await realProgramme(context, 5);
    const captures = [RING[0], { ...RING[2], channels: [1, 3] }] as CaptureSpec[];
    const transfer = recordedTape({ planes, captures });
    const lying = { ...transfer, captures: transfer.captures.map((capture) => ({ ...capture, channels: [1, 2] })) };
    const report = await runSheet(await writeTransfer(folder, lying), { out: join(folder, 'out') });
    expect(report.contradictions.join()).toMatch(/channel 2: .*agree in only/);
  });
});
