// Derivatives against truths from outside: emphasis put on by numpy with the law's own magnitude and phase, a shared converter made by taking turns in
// sox's doubled rate, words split by hand. The parent stays byte for byte; the child says whose it is to ffprobe, too.
import { execFileSync } from 'node:child_process';
import { createHash } from 'node:crypto';
import { readFile, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { rate } from '../base/index.ts';
import { createAudio, openAudio } from '../media/index.ts';
import { loadMusic, needMusic } from '../media/testing/music.ts';
import { needTool, tempFolder } from '../media/testing/tools.ts';
import { fftPlan, Random } from '../signal/index.ts';
import { deriveFile } from './derive-file.ts';

async function writeWave(path: string, planes: readonly Int32Array[], bits: 16 | 24, hz = 44_100): Promise<void> {
  const writer = await createAudio(path, { channels: planes.length, rate: rate(hz), bits });
  await writer.write({ start: 0, frames: planes[0].length, planes });
  await writer.commit();
}

async function readWave(path: string) {
  const audio = await openAudio(path);
  const block = await audio.read(0, audio.info.frames);
  await audio.close();
  return { planes: block.planes, info: audio.info };
}

const digest = async (path: string) =>
  createHash('sha256')
    .update(await readFile(path))
    .digest('hex');
const power = (x: ArrayLike<number>) => Array.from(x).reduce((sum, one) => sum + one * one, 0) / x.length;

describe('emphasis', () => {
  it.for(['guitar', 'tabla', 'fox'])(
    'put on %s by numpy comes off again, in level and in phase',
    async (name, context) => {
      const python = needTool(context, '/usr/bin/python3');
      const folder = await tempFolder();
      const { planes } = await loadMusic(await needMusic(context, name));
      const sound = Float64Array.from(planes[0].subarray(0, 120_000), (x) => 0.25 * 256 * x);
      const program =
        'import sys,numpy as np\nx=np.frombuffer(sys.stdin.buffer.read());n=1<<19\nX=np.fft.rfft(x,n)\n' +
        'w=2j*np.pi*np.fft.rfftfreq(n,1/44100)\nX*=(1+w*50e-6)/(1+w*15e-6)\n' +
        'sys.stdout.buffer.write(np.fft.irfft(X,n)[:len(x)].tobytes())';
      const out = execFileSync(python, ['-c', program], { input: Buffer.from(sound.buffer), maxBuffer: 2 ** 26 });
      const put = Int32Array.from({ length: sound.length }, (_, i) => Math.round(out.readDoubleLE(8 * i)));
      const [parent, child] = [join(folder, 'p.wav'), join(folder, 'c.wav')];
      await writeWave(parent, [put], 24);
      const before = await digest(parent);
      const { clippedSamples, bits } = await deriveFile(parent, { out: child, deEmphasis: true });
      expect([clippedSamples, bits, await digest(parent)]).toEqual([0, 24, before]);
      const { planes: back } = await readWave(child);
      // The phase near half the rate cannot be an analogue circuit's; the rest must be as it was.
      const error = Float64Array.from(back[0].subarray(1000, 119_000), (x, i) => x - sound[i + 1000]);
      const relative = 10 * Math.log10(power(error) / power(sound));
      expect(relative).toBeLessThan(-60);
    },
  );
});

describe('one converter for two channels', () => {
  /** Mono sound, each channel taken in turn: the second half a sample later than the first. */
  async function adaptor(path: string, context: Parameters<typeof needTool>[0]): Promise<Int32Array[]> {
    const sox = needTool(context, 'sox');
    const raw = ['-t', 'raw', '-e', 'signed-integer', '-b', '16', '-L', '-c', '1'];
    const args = ['-D', '-G', path, ...raw, '-r', '88200', '-', 'remix', '1', 'rate', '-v', '-b', '99', '88200'];
    const doubled = execFileSync(sox, args, { maxBuffer: 2 ** 28 });
    const frames = Math.min(Math.floor(doubled.length / 4), 600_000);
    return [0, 1].map((turn) => Int32Array.from({ length: frames }, (_, i) => doubled.readInt16LE(4 * i + 2 * turn)));
  }

  it.for(['guitar', 'tabla', 'announcement-front', 'violins'])(
    '%s: the mono sum keeps its 15 kHz',
    async (name, context) => {
      const folder = await tempFolder();
      const planes = await adaptor(await needMusic(context, name), context);
      const random = new Random(3);
      // Some noise common to both, so that there is something to weigh at 15 kHz: made at the doubled rate by the same turns.
      const doubled = Int32Array.from({ length: 2 * planes[0].length }, () => Math.round(40 * random.gaussian()));
      const smooth = doubled.map((x, i) => x + (doubled[i - 1] ?? 0) + (doubled[i + 1] ?? 0));
      const parent = join(folder, 'adaptor.wav');
      const both = planes.map((plane, turn) =>
        plane.map((x, i) => Math.max(-32_768, Math.min(32_767, x + smooth[2 * i + turn]))),
      );
      await writeWave(parent, both, 16);
      const before = monoLossDb(both[0], both[1], 15_000 / 44_100);
      expect(before).toBeGreaterThan(0.9);
      const child = join(folder, 'c.wav');
      const { steps } = await deriveFile(parent, { out: child, skew: 'measured' });
      expect(steps[0]).toContain('0.5 samples later');
      const { planes: back } = await readWave(child);
      expect(back[0].every((x, i) => x === both[0][i] << 8)).toBe(true);
      expect(monoLossDb(back[0], back[1], 15_000 / 44_100)).toBeLessThan(0.05);
    },
  );
});

/** What the sum of both loses against their powers, by the coherent part of the cross spectrum, in 1 kHz around a frequency. */
function monoLossDb(a: Int32Array, b: Int32Array, turns: number): number {
  const size = 4096;
  const fft = fftPlan(size);
  let [re, im] = [0, 0];
  for (let at = 2048; at + size < a.length - 2048; at += size) {
    const window = (x: Int32Array) =>
      Float64Array.from({ length: size }, (_, i) => x[at + i] * (0.5 - 0.5 * Math.cos((2 * Math.PI * i) / size)));
    const [ar, ai, br, bi] = [window(a), new Float64Array(size), window(b), new Float64Array(size)];
    fft.forward(ar, ai);
    fft.forward(br, bi);
    for (let k = Math.round((turns - 0.01) * size); k < (turns + 0.01) * size; k++) {
      re += ar[k] * br[k] + ai[k] * bi[k];
      im += ai[k] * br[k] - ar[k] * bi[k];
    }
  }
  return -20 * Math.log10(Math.cos(Math.atan2(im, re) / 2));
}

describe('split words', () => {
  it('found and joined: the 24-bit words come back exactly, the lower tracks are left out', async (context) => {
    const folder = await tempFolder();
    const { planes } = await loadMusic(await needMusic(context, 'viola'));
    const words = planes[0].slice(0, 300_000);
    const parent = join(folder, 'mix.wav');
    await writeWave(parent, [words.map((x) => x >> 8), words.map((x) => (x << 24) >> 16)], 16);
    const child = join(folder, 'joined.wav');
    const { bits, channels } = await deriveFile(parent, { out: child, join: 'found' });
    expect([bits, channels]).toEqual([24, 1]);
    expect((await readWave(child)).planes[0]).toEqual(words);
    const declared = join(folder, 'declared.wav');
    await deriveFile(parent, { out: declared, join: '1+2' });
    expect((await readWave(declared)).planes[0]).toEqual(words);
  });
});

it('warns where emphasis was taken off before', async () => {
  const folder = await tempFolder();
  const random = new Random(6);
  const parent = join(folder, 'p.wav');
  const words = Int32Array.from(
    { length: 300_000 },
    (_, i) => Math.round(3 * Math.sin(i / 50) + random.triangular()) << 8,
  );
  await writeWave(parent, [words], 24);
  const first = await deriveFile(parent, { deEmphasis: true });
  expect(first.cautions).toEqual([]);
  const second = await deriveFile(first.out, { deEmphasis: true, out: join(folder, 'twice.wav') });
  expect(second.cautions).toHaveLength(1);
  expect(await readFile(second.note, 'utf8')).toContain('CAUTION');
});

it('the child says whose it is: to us, to ffprobe and in its note', async (context) => {
  const ffprobe = needTool(context, 'ffprobe');
  const folder = await tempFolder();
  const random = new Random(8);
  const parent = join(folder, 'p1-north.wav');
  await writeWave(parent, [Int32Array.from({ length: 4801 }, () => Math.round(900 * random.gaussian()))], 16, 48_000);
  const document = await deriveFile(parent, { deEmphasis: true });
  const { info } = await readWave(document.out);
  expect(info.bext?.codingHistory).toBe(
    'A=PCM,F=48000,W=24,M=mono,T=DERIVATIVE of p1-north.wav; 50/15 us emphasis taken off; tapeproof 0.1.0',
  );
  expect(info.problems).toEqual([]);
  const tags = execFileSync(ffprobe, ['-v', 'error', '-show_entries', 'format_tags', '-of', 'json', document.out], {
    encoding: 'utf8',
  });
  expect(JSON.parse(tags).format.tags).toMatchObject({
    comment: 'DERIVATIVE of p1-north.wav: 50/15 us emphasis taken off',
    encoded_by: 'tapeproof',
    coding_history: expect.stringContaining('T=DERIVATIVE of p1-north.wav'),
  });
  expect(await readFile(document.note, 'utf8')).toContain(document.parent.digests.audio.sha256);
});

describe('refused', () => {
  it.for([
    [{}, /nothing to correct/],
    [{ skew: 'measured' }, /no delay within a pair was measured/],
    [{ skew: '3' }, /not a delay/],
    [{ skew: '' }, /not a delay/],
    [{ skew: '0.5,0.5' }, /not a delay/],
    [{ join: 'found' }, /no track was found/],
    [{ join: '1+1' }, /not a pair/],
    [{ join: '1+3' }, /not a pair/],
    [{ join: '1+2' }, /cannot hold the lower bits/],
  ] as const)('%j', async ([options, message]) => {
    const folder = await tempFolder();
    const random = new Random(2);
    const noise = () => Int32Array.from({ length: 40_000 }, () => Math.round(900 * random.gaussian()));
    const parent = join(folder, 'p.wav');
    await writeWave(parent, [noise(), noise()], 16);
    await expect(deriveFile(parent, { ...options, out: join(folder, 'o.wav') })).rejects.toThrow(message);
    await expect(readFile(join(folder, 'o.wav'))).rejects.toThrow();
  });

  it('to write over anything', async () => {
    const folder = await tempFolder();
    const parent = join(folder, 'p.wav');
    await writeWave(parent, [new Int32Array(100)], 16);
    await writeFile(join(folder, 'o.wav'), 'x');
    await expect(deriveFile(parent, { deEmphasis: true, out: join(folder, 'o.wav') })).rejects.toThrow('already');
    await expect(deriveFile(parent, { deEmphasis: true, out: parent })).rejects.toThrow('already');
  });
});
