// The programme as a file, degraded by sox and ffmpeg, measured, and held against scipy and numpy as a second implementation. Tolerances: what each
// number states of itself; beside it 0.05 dB where two methods integrate the same noise differently (scipy.signal.welch, the same band).
import { execFileSync } from 'node:child_process';
import { readFileSync, statSync } from 'node:fs';
import { join } from 'node:path';
import { beforeAll, describe, expect, it } from 'vitest';
import { rate, TapeproofError } from '../base/index.ts';
import { type MeasureDocument, measureText, type SignalDocument } from '../deliver/index.ts';
import { findTool, needTool, tempFolder } from '../media/testing/tools.ts';
import { measureFiles, measureNeedsPerson } from './measure-files.ts';
import { writeMaster } from './write-master.ts';
import { writeProgramme } from './write-programme.ts';

const PYTHON = '/usr/bin/python3';
const GAIN_DB = -6.5;
const CORNER_HZ = 6000;
let folder = '';
let signal: SignalDocument;
let degraded: MeasureDocument | undefined;

beforeAll(async () => {
  folder = await tempFolder();
  const out = join(folder, 'programme.wav');
  signal = await writeProgramme({ out });
  if (!findTool('sox') || !findTool('ffmpeg')) return;
  // sox -D: no dither of its own. lowpass -1: one pole. ffmpeg: A-law, 8 bits per sample, there and back
  const [filtered, alaw] = [join(folder, 'filtered.wav'), join(folder, 'alaw.wav')];
  execFileSync('sox', ['-D', out, filtered, 'gain', `${GAIN_DB}`, 'lowpass', '-1', `${CORNER_HZ}`]);
  execFileSync('ffmpeg', ['-v', 'error', '-i', out, '-c:a', 'pcm_alaw', join(folder, 'coded.wav')]);
  execFileSync('ffmpeg', ['-v', 'error', '-i', join(folder, 'coded.wav'), '-c:a', 'pcm_s16le', alaw]);
  degraded = await measureFiles([filtered, alaw], { compare: true, out: join(folder, 'out') });
}, 300_000);

const python = (code: string, ...args: string[]): unknown =>
  JSON.parse(execFileSync(PYTHON, ['-c', code, ...args], { encoding: 'utf8', maxBuffer: 2 ** 26 }));

describe('signal measure', () => {
  it('lists every part, warns, and overwrites nothing', async () => {
    expect(signal.frames).toBe(Math.round(102.5 * 48_000));
    expect(statSync(signal.path).size).toBeGreaterThan(6 * signal.frames);
    expect(signal.warnings[0]).toMatch(/Never listen/);
    const last = signal.sections.at(-1);
    expect((last?.start ?? 0) + (last?.length ?? 0)).toBe(signal.frames);
    await expect(writeProgramme({ out: signal.path })).rejects.toThrow(/already/);
  });
});

describe('measured against other programs', () => {
  it('response of a sox filter as scipy computes it', (context) => {
    needTool(context, 'sox');
    needTool(context, PYTHON);
    const points = degraded?.captures[0].channels[0].response.points ?? [];
    const pole = Math.exp((-2 * Math.PI * CORNER_HZ) / 48_000);
    const truth = python(
      `import sys,json,numpy as np
from scipy.signal import freqz
p=float(sys.argv[1]); f=np.array(json.loads(sys.argv[2]+''))
_,h=freqz([1-p],[1,-p],worN=f,fs=48000); print(json.dumps(list(20*np.log10(abs(h)))))`,
      `${pole}`,
      JSON.stringify([...points.map((point) => point.hz), 997]),
    ) as number[];
    const at997 = truth[points.length];
    const misses = points.filter(
      ({ gainDb }, k) => Math.abs((gainDb.value ?? 99) - (truth[k] - at997)) > (gainDb.uncertainty ?? 0) + 0.01,
    );
    expect(misses).toEqual([]);
    const gain = degraded?.captures[0].channels[0].levels.gainDb;
    expect(Math.abs((gain?.value ?? 0) - (GAIN_DB + at997))).toBeLessThan((gain?.uncertainty ?? 0) + 0.002);
  });

  it('THD+N against level of an ffmpeg A-law copy as numpy and scipy compute it', (context) => {
    needTool(context, 'ffmpeg');
    needTool(context, PYTHON);
    const steps = signal.sections.filter((section) => section.id.startsWith('ladder'));
    const truth = python(
      `import sys,json,numpy as np,soundfile as sf
from scipy.signal import welch
x,fs=sf.read(sys.argv[1]); x=x[:,0]; out=[]
for s,n in json.loads(sys.argv[2]):
    m=int(.06*fs); y=x[s+m:s+n-m]; t=2*np.pi*997*np.arange(len(y))/fs
    A=np.stack([np.ones_like(t),np.cos(t),np.sin(t)],1); c=np.linalg.lstsq(A,y,rcond=None)[0]; r=y-A@c
    f,p=welch(r,fs,nperseg=16384); band=p[(f>=20)&(f<=20000)].sum()*(f[1]-f[0]); sig=(c[1]**2+c[2]**2)/2
    out.append(10*np.log10(band/(band+sig)))
print(json.dumps(out))`,
      join(folder, 'alaw.wav'),
      JSON.stringify(steps.map(({ start, length }) => [start, length])),
    ) as number[];
    const ladder = degraded?.captures[1].channels[0].ladder ?? [];
    expect(ladder.length).toBe(truth.length);
    for (const [k, step] of ladder.entries()) {
      expect(Math.abs((step.thdnDb.value ?? 99) - truth[k])).toBeLessThan((step.thdnDb.uncertainty ?? 0) + 0.05);
    }
  });
});

describe('the written comparison', () => {
  const read = (name: string) => readFileSync(join(folder, 'out', name), 'utf8');

  it('is the same in JSON and text, and wants no person', () => {
    if (!degraded) return;
    const { written, ...rest } = degraded;
    expect(JSON.parse(read('measure.json'))).toEqual(JSON.parse(JSON.stringify(rest)));
    expect(read('measure.txt')).toBe(measureText(rest, { compare: true }));
    expect(written?.length).toBe(10);
    expect(measureNeedsPerson(degraded)).toBe(false);
  });

  it('is well-formed HTML and SVG, and CSV that Python reads', (context) => {
    if (!degraded) return;
    needTool(context, PYTHON);
    const names = (degraded.written ?? []).filter((name) => /svg$/.test(name));
    const counted = python(
      `import sys,json,csv,xml.dom.minidom as m
for n in sys.argv[2:]: m.parse(n)
m.parseString(open(sys.argv[1]+'/measure.html',encoding='utf8').read().replace('<!DOCTYPE html>',''))
rows=list(csv.DictReader(open(sys.argv[1]+'/measure.csv',newline='')))
print(json.dumps([len(rows),sum(1 for r in rows if r['quantity']=='thdn-level'),sorted({len(r) for r in rows})]))`,
      join(folder, 'out'),
      ...names,
    ) as [number, number, number[]];
    const steps = degraded.captures[0].channels[0].ladder.length;
    expect(counted[1]).toBe(4 * steps);
    expect(counted[2]).toEqual([9]);
  });
});

describe('what cannot be measured', () => {
  it('is told, and the others go on', async () => {
    const bad = join(folder, 'bad.wav');
    async function* silence() {
      yield { start: 0, frames: 200_000, planes: [new Int32Array(200_000)] };
    }
    await writeMaster(bad, { channels: 1, rate: rate(48_000), bits: 16 }, silence());
    await expect(measureFiles([bad])).rejects.toBeInstanceOf(TapeproofError);
    await expect(measureFiles([bad])).rejects.toMatchObject({ detail: { found: 'digital silence' } });
  });
});
