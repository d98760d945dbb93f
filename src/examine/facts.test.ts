// The plain facts (levels, DC, clipping, recorded channels, relations) against sox and against signals whose truth is known.
import { execFileSync } from 'node:child_process';
import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { memorySource, rate } from '../base/index.ts';
import { loadMusic, needMusic } from '../media/testing/music.ts';
import { needTool, tempFolder } from '../media/testing/tools.ts';
import { Random } from '../signal/index.ts';
import { DETECTORS, examineSource, type Verdict } from './index.ts';

const FACTS = DETECTORS.filter(({ meta }) => ['levels', 'clipping', 'recorded', 'relations'].includes(meta.id));

async function factsOf(planes: readonly Int32Array[], bits = 16) {
  return examineSource(memorySource(planes, { name: 'test', rate: rate(44_100), bits }), FACTS);
}

const pick = (verdicts: readonly Verdict[], question: string, channel: number) =>
  verdicts.find((verdict) => verdict.question === question && verdict.channel === channel);

const noise = (frames: number, seed: number, level = 3000) => {
  const random = new Random(seed);
  return Int32Array.from({ length: frames }, () => Math.round(random.gaussian() * level));
};

describe('levels', () => {
  it('peak and DC are those of sox stats (it prints peaks to 0.01 dB and DC to 6 digits)', async (context) => {
    const sox = needTool(context, 'sox');
    const { planes } = await loadMusic(await needMusic(context, 'guitar'));
    const file = join(await tempFolder(), 'guitar.raw');
    writeFileSync(file, new Uint8Array(Int16Array.from(planes[0]).buffer));
    const { stderr } = run(sox, [
      '-D',
      '-t',
      'raw',
      '-r',
      '44100',
      '-e',
      'signed',
      '-b',
      '16',
      '-c',
      '1',
      file,
      '-n',
      'stats',
    ]);
    const said = (name: string) => Number(new RegExp(`${name}\\s+(-?[\\d.]+)`).exec(stderr)?.[1]);
    const verdict = pick((await factsOf([planes[0]])).verdicts, 'peak-level', 1);
    expect(verdict?.answer).toBeCloseTo(said('Pk lev dB'), 1.9);
    expect((verdict?.evidence.dc as number) / 32_768).toBeCloseTo(said('DC offset'), 5);
    // sox refers RMS to full-scale DC; ours to a full-scale sine, 3.01 dB more (standards.md 4.2).
    expect((verdict?.evidence.meanLevelDb as number) - 3.0103).toBeCloseTo(said('RMS lev dB'), 1.9);
  });

  it('a histogram counts every sample', async () => {
    const plane = noise(10_000, 1);
    const bins = pick((await factsOf([plane])).verdicts, 'peak-level', 1)?.evidence.histogramDb as number[];
    expect(bins.reduce((sum, count) => sum + count, 0)).toBe(10_000);
    const quiet = plane.filter((x) => Math.abs(x) < 32_768 * 10 ** (-20 / 20)).length;
    expect(bins.slice(20).reduce((sum, count) => sum + count, 0) / quiet).toBeCloseTo(1, 1);
  });
});

describe('clipping', () => {
  it('a sine driven 6 dB over full scale is clipped twice in each period', async () => {
    const plane = Int32Array.from({ length: 44_100 }, (_, i) =>
      Math.max(-32_768, Math.min(32_767, Math.round(65_536 * Math.sin((2 * Math.PI * 100 * i) / 44_100)))),
    );
    const { findings, verdicts } = await factsOf([plane]);
    expect(findings.filter(({ kind }) => kind === 'clipped')).toHaveLength(200);
    expect(pick(verdicts, 'clipped', 1)).toMatchObject({ answer: true, evidence: { rows: 200 } });
  });

  it('a sine just below full scale is not', async () => {
    const plane = Int32Array.from({ length: 44_100 }, (_, i) => Math.round(32_700 * Math.sin(i / 3)));
    expect(pick((await factsOf([plane])).verdicts, 'clipped', 1)?.answer).toBe(false);
  });
});

describe('recorded channels', () => {
  it('eight channels of which two were never recorded', async () => {
    const planes = Array.from({ length: 8 }, (_, c) => (c === 2 || c === 7 ? new Int32Array(5000) : noise(5000, c)));
    const { verdicts } = await factsOf(planes);
    const answers = planes.map((_, c) => pick(verdicts, 'recorded', c + 1)?.answer);
    expect(answers).toEqual([true, true, false, true, true, true, true, false]);
  });

  it('converter noise of an unused channel is no certain recording', async () => {
    const idle = noise(5000, 3, 0.6);
    expect(pick((await factsOf([idle])).verdicts, 'recorded', 1)?.confidence).toBeLessThan(0.9);
  });
});

describe('relations', () => {
  it('names identical and inverse channels and no others', async () => {
    const [a, b] = [noise(40_000, 1), noise(40_000, 2)];
    const { verdicts } = await factsOf([a, b, a.slice(), b.map((x) => -x), b.map((x) => ~x), noise(40_000, 3)]);
    const relations = verdicts
      .filter(({ question }) => question === 'relation')
      .map(({ channel, answer }) => [channel, answer]);
    expect(relations).toContainEqual([3, 'identical to channel 1']);
    expect(relations).toContainEqual([4, 'inverse of channel 2']);
    expect(relations).toContainEqual([5, 'inverse of channel 2']);
    expect(relations.some(([channel]) => channel === 6)).toBe(false);
  });

  it('two channels alike but for one sample in fifty are not identical', async () => {
    const a = noise(40_000, 1);
    const almost = a.map((x, i) => (i % 50 === 0 ? x + 1 : x));
    expect((await factsOf([a, almost])).verdicts.some(({ question }) => question === 'relation')).toBe(false);
  });
});

/** sox prints its statistics on standard error. */
function run(tool: string, args: readonly string[]): { stderr: string } {
  const script = `"$0" "$@" 2>&1`;
  return { stderr: execFileSync('/bin/sh', ['-c', script, tool, ...args], { encoding: 'utf8' }) };
}
