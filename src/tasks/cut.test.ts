// The whole job of cutting: proposals from real recordings, the list as YAML and CSV changed by hand, the parts read again by other programs, and lists
// that must be refused. sox joins and compares, ffmpeg decodes, sndfile-info reads the cues.
import { execFile } from 'node:child_process';
import { mkdir, readdir, readFile, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { promisify } from 'node:util';
import { describe, expect, it } from 'vitest';
import { type Rate, rate } from '../base/index.ts';
import { cutPartsText, cutProposalsText } from '../deliver/index.ts';
import { createAudio, openAudio } from '../media/index.ts';
import { datFrames } from '../media/testing/dat-frames.ts';
import { loadMusic, needMusic } from '../media/testing/music.ts';
import { needTool, type Skipping, tempFolder } from '../media/testing/tools.ts';
import { Random } from '../signal/index.ts';
import { cutNeedsPerson, proposeCuts } from './cut-propose.ts';
import { writeCuts } from './cut-write.ts';

const run = promisify(execFile);
const GAP = 96_000;

async function write(path: string, planes: readonly Int32Array[], bits: 16 | 24 = 16, at: Rate = rate(48_000)) {
  const writer = await createAudio(path, { channels: planes.length, rate: at, bits });
  await writer.write({ start: 0, frames: planes[0].length, planes });
  return writer.commit();
}

/** Three recordings with two seconds of digital silence between them. */
async function masterOfThree(context: Skipping, folder: string) {
  const starts: number[] = [];
  const parts: Int32Array[][] = [];
  let frames = 0;
  for (const name of ['choir', 'violins', 'tabla']) {
    const { planes, bits } = await loadMusic(await needMusic(context, name), { rateHz: 48_000, channels: 2 });
    if (parts.length > 0) frames += GAP;
    starts.push(frames);
    frames += planes[0].length;
    parts.push(planes.map((plane) => plane.map((x) => x >> (bits - 16))));
  }
  const planes = [0, 1].map((c) => {
    const whole = new Int32Array(frames);
    for (const [n, own] of parts.entries()) whole.set(own[c], starts[n]);
    return whole;
  });
  const path = join(folder, 'master.wav');
  const written = await write(path, planes);
  return { path, planes, starts, written };
}

async function samplesByFfmpeg(context: Skipping, path: string): Promise<Buffer> {
  const tool = needTool(context, 'ffmpeg');
  const options = { encoding: 'buffer', maxBuffer: 2 ** 28 } as const;
  return (await run(tool, ['-v', 'error', '-i', path, '-f', 's16le', '-'], options)).stdout;
}

describe('a master of three programmes', () => {
  it.each(['yaml', 'csv'])('is proposed, cut by its list as %s, and the parts are the master', async (kind) => {
    const context: Skipping = { skip: (note) => Promise.reject(new Error(note)) as never };
    const folder = await tempFolder();
    const { path, starts, written } = await masterOfThree(context, folder);
    const list = join(folder, `cuts.${kind}`);
    const proposals = await proposeCuts([path], { write: list });
    expect(proposals.lines.map(({ sureness }) => sureness)).toEqual(['given', 'sure', 'sure']);
    for (const [n, { start }] of proposals.lines.entries()) expect(Math.abs(start - starts[n])).toBeLessThan(480);
    expect(cutNeedsPerson(proposals)).toBe(false);
    expect(cutProposalsText(proposals)).toContain('3 programmes proposed');

    const document = await writeCuts(list, { out: join(folder, 'parts'), marked: true });
    expect(document.items.map(({ id, previous, next }) => [id, previous, next])).toEqual([
      ['master-01', null, 'master-02'],
      ['master-02', 'master-01', 'master-03'],
      ['master-03', 'master-02', null],
    ]);
    expect(document.masters[0]).toMatchObject({ isDigestKnown: true, digests: written.digests });
    expect(cutPartsText(document)).toContain('sample for sample');
    expect(JSON.parse(await readFile(join(folder, 'parts/cut.json'), 'utf8'))).toEqual(document);

    const paths = document.items.map((item) => join(folder, 'parts', item.path));
    // Two programs that know nothing of us: sox puts the parts together, ffmpeg decodes each.
    const joined = join(folder, 'joined.wav');
    await run(needTool(context, 'sox'), [...paths, joined]);
    const whole = await samplesByFfmpeg(context, path);
    expect((await samplesByFfmpeg(context, joined)).equals(whole)).toBe(true);
    const decoded = await Promise.all(paths.map((part) => samplesByFfmpeg(context, part)));
    expect(Buffer.concat(decoded).equals(whole)).toBe(true);
    expect((await samplesByFfmpeg(context, join(folder, 'parts/master-marked.wav'))).equals(whole)).toBe(true);
  });

  it('is cut where a person says: times, titles, marks; labels and cues are read by another program', async (context) => {
    const folder = await tempFolder();
    const { planes } = await masterOfThree(context, folder);
    const list = join(folder, 'own.csv');
    await writeFile(
      list,
      [
        'master;start;cut;title',
        'master.wav;0;yes;Tuning, "A"',
        'master.wav;0:00:05.5;yes;Waltz',
        'master.wav;300000;no;a cough',
      ]
        .join('\r\n')
        .replace('Tuning, "A"', '"Tuning, ""A"""'),
    );
    const document = await writeCuts(list, { out: join(folder, 'parts'), marked: true });
    expect(document.items.map(({ start, frames, title }) => [start, frames, title])).toEqual([
      [0, 264_000, 'Tuning, "A"'],
      [264_000, planes[0].length - 264_000, 'Waltz'],
    ]);
    expect(document.masters[0].isDigestKnown).toBe(false);
    const info = async (name: string) =>
      (await run(needTool(context, 'sndfile-info'), [join(folder, 'parts', name)])).stdout.replace(/ +/g, ' ');
    const second = await info('master-02.wav');
    expect(second).toMatch(/Cue ID : 1 Pos : 0 .* Offset : 0/);
    expect(second).toMatch(/Cue ID : 2 Pos : 36000 .* Offset : 36000/);
    expect(second).toContain('labl : 1 : Waltz');
    expect(second).toContain('labl : 2 : a cough');
    const marked = await info('master-marked.wav');
    expect(marked).toMatch(/Cue ID : 2 Pos : 264000/);
    expect(marked).toMatch(/Cue ID : 3 Pos : 300000/);
  });

  it('of 24 bits, with given starts: only those are cut, others are marked', async (context) => {
    const folder = await tempFolder();
    const { planes, starts } = await masterOfThree(context, folder);
    const path = join(folder, 'wide.wav');
    const random = new Random(1);
    await write(
      path,
      planes.map((plane) => plane.map((x) => (x === 0 ? 0 : 256 * x + random.integer(256)))),
      24,
    );
    const given = join(folder, 'starts.txt');
    await writeFile(given, `# start IDs\n0:00:00 First\n${starts[1] + 77}  Second one\n`);
    const list = join(folder, 'cuts.yaml');
    const proposals = await proposeCuts([path], { starts: given, write: list });
    expect(proposals.lines.filter(({ isCut }) => isCut).map(({ start, title }) => [start, title])).toEqual([
      [0, 'First'],
      [starts[1] + 77, 'Second one'],
    ]);
    expect(proposals.lines.filter(({ isCut }) => !isCut)).toHaveLength(2);
    const document = await writeCuts(list, { out: join(folder, 'parts') });
    expect(document.items.map(({ title }) => title)).toEqual(['First', 'Second one']);
    const audio = await openAudio(join(folder, 'parts/wide-02.wav'));
    expect(audio.info).toMatchObject({ bits: 24, frames: planes[0].length - starts[1] - 77 });
    await audio.close();
  });
});

describe('a dump of a tape that has start IDs', () => {
  it('is proposed to be cut at them', async () => {
    const path = join(await tempFolder(), 'tape.dat');
    const random = new Random(9);
    const planes = [0, 1].map(() => Int32Array.from({ length: 400 * 1440 }, () => random.integer(4000) - 2000));
    const programme = (frame: number) => 1 + Math.floor(frame / 150);
    const isStart = (frame: number) => frame % 150 < 100 && frame >= 150;
    await writeFile(path, datFrames({ rateHz: 48_000, planes, programme, isStart, absolute: (frame) => frame }));
    const { lines } = await proposeCuts([path], {});
    expect(lines.map(({ start, sureness, isCut }) => [start, sureness, isCut])).toEqual([
      [0, 'given', true],
      [150 * 1440, 'sure', true],
      [300 * 1440, 'sure', true],
    ]);
    expect(lines[1].why).toBe('start ID of the tape, programme 2');
  });
});

describe('silence that the master was given where no read covers it', () => {
  it('is marked and not cut', async (context) => {
    const folder = await tempFolder();
    const { path, planes, starts, written } = await masterOfThree(context, folder);
    const frames = planes[0].length;
    const gap = starts[1] - GAP;
    const piece = (start: number, length: number, source: number | null) => ({
      start,
      length,
      source,
      fileChannel: 1,
      from: start,
    });
    const pieces = [piece(0, gap, 0), piece(gap, GAP, null), piece(starts[1], frames - starts[1], 0)];
    const source = {
      path: 'a.wav',
      sha256: '0'.repeat(64),
      audioSha256: '0'.repeat(64),
      frames,
      channels: 2,
      bits: 16,
    };
    const list = {
      ...{ schema: 'tapeproof/edit-list@1', tape: 'HB-0500', rate: { num: 48_000, den: 1 }, bits: 16, frames },
      ...{ sources: [source], audioSha256: written.digests.audio.sha256 },
      channels: [1, 2].map((channel) => ({ channel, pieces })),
    };
    await writeFile(join(folder, 'edit-list.json'), JSON.stringify(list));
    const { tape, lines } = await proposeCuts([path], {});
    expect(tape).toBe('HB-0500');
    expect(lines.map(({ isCut, sureness }) => [isCut, sureness])).toEqual([
      [true, 'given'],
      [false, 'possible'],
      [true, 'sure'],
    ]);
    expect(lines[1].why).toMatch(/no read covers this place/);
  });
});

describe('a cassette with six stereo programmes', () => {
  it('becomes six linked items, from one master of twelve channels or from six', async () => {
    const folder = await tempFolder();
    const random = new Random(4);
    const planes = Array.from({ length: 12 }, () => Int32Array.from({ length: 40_000 }, () => random.integer(999)));
    const sheet = join(folder, 'sheet.yaml');
    await writeFile(
      sheet,
      'tape: { id: HB-0600, format: eight-mm-six-programmes-625 }\ncaptures:\n  - { file: gone.wav, pass: 1, channels: [1, 2] }\n',
    );
    for (const masters of [1, 6]) {
      const result = join(folder, `result-${masters}`);
      await mkdir(result);
      for (let m = 0; m < masters; m++) {
        const own = masters === 1 ? planes : planes.slice(2 * m, 2 * m + 2);
        await write(join(result, m === 0 ? 'master.wav' : `master-${m + 1}.wav`), own);
      }
      const list = join(result, 'cuts.csv');
      const proposals = await proposeCuts([sheet], { from: result, write: list });
      expect(proposals.tape).toBe('HB-0600');
      expect(proposals.lines).toHaveLength(6);
      const out = join(result, 'parts');
      const document = await writeCuts(list, { out });
      expect(document.items.map(({ id, programme }) => [id, programme])).toEqual(
        [1, 2, 3, 4, 5, 6].map((n) => [`HB-0600-p${n}`, n]),
      );
      expect(document.items[2].beside).toEqual([1, 2, 4, 5, 6].map((n) => `HB-0600-p${n}`));
      const audio = await openAudio(join(out, 'HB-0600-p3.wav'));
      expect((await audio.read(0, 40_000)).planes).toEqual(planes.slice(4, 6));
      await audio.close();
    }
  });
});

describe('what cannot be done is refused, and leaves nothing', () => {
  async function withList(text: string, name = 'cuts.yaml') {
    const folder = await tempFolder();
    await write(join(folder, 'master.wav'), [new Int32Array(1000).map((_, i) => i)]);
    await writeFile(join(folder, name), text);
    const error = await writeCuts(join(folder, name), { out: join(folder, 'parts') }).catch((e: unknown) => e);
    const left = await readdir(join(folder, 'parts')).catch(() => []);
    expect(left).toEqual([]);
    return error;
  }
  const head = 'masters:\n  - { path: master.wav }\nprogrammes:\n';

  it.for([
    [
      'another master',
      'masters:\n  - { path: master.wav, audioSha256: "00" }\nprogrammes:\n  - { start: 0 }\n',
      /not the master/,
      undefined,
    ],
    ['no start at 0', `${head}  - { start: 10 }\n`, /nothing begins at frame 0/, undefined],
    ['a start that is none', `${head}  - { start: 0 }\n  - { start: soon }\n`, /this is no start/, 5],
    ['a time of 99 seconds', `${head}  - { start: 0 }\n  - { start: "0:00:99" }\n`, /this is no start/, 5],
    ['cut: perhaps', `${head}  - { start: 0, cut: perhaps }\n`, /neither yes nor no/, 4],
    ['a master that is not listed', `${head}  - { start: 0, master: other.wav }\n`, /no such master/, 4],
    ['no programmes', 'masters:\n  - { path: master.wav }\n', /no programme/, undefined],
    ['no masters', 'programmes:\n  - { start: 0 }\n', /names no master/, 1],
    ['no YAML', 'masters: [\n', /./, undefined],
    [
      'a master that is gone',
      'masters:\n  - { path: gone.wav }\nprogrammes:\n  - { start: 0 }\n',
      /no such file/,
      undefined,
    ],
  ] as const)('%s', async ([, text, message, line]) => {
    const error = await withList(text);
    expect(error).toMatchObject({ message: expect.stringMatching(message) });
    if (line !== undefined) expect(error).toMatchObject({ detail: { line } });
  });

  it.for([
    ['no column start', 'master,from\nmaster.wav,0\n', /no column start/],
    ['an open quotation', 'master,start\n"master.wav,0\n', /quotation does not end/],
    ['nothing', '', /no column master/],
    ['a line without a master', 'master,start\n,0\n', /names no master/],
  ] as const)('in CSV: %s', async ([, text, message]) => {
    expect(await withList(text, 'cuts.csv')).toMatchObject({ message: expect.stringMatching(message) });
  });

  it('a master without a frame', async () => {
    const path = join(await tempFolder(), 'empty.wav');
    await write(path, [new Int32Array(0)]);
    await expect(proposeCuts([path], {})).rejects.toThrow('holds no frames');
  });

  it('a part of that name, and a list of that name', async () => {
    const folder = await tempFolder();
    const path = join(folder, 'master.wav');
    await write(path, [new Int32Array(1000).map((_, i) => i)]);
    const list = join(folder, 'cuts.yaml');
    await proposeCuts([path], { write: list });
    await expect(proposeCuts([path], { write: list })).rejects.toMatchObject({ kind: 'input' });
    await writeCuts(list, { out: folder });
    await expect(writeCuts(list, { out: folder })).rejects.toThrow('a file of this name already');
  });
});
