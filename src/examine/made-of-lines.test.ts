// Sound that its makers drew out with straight lines, beside a deck that lost one of two heads for as long: what the samples tell apart
// is told, the rest is said to be either.
import { describe, expect, it } from 'vitest';
import { memorySource, rate } from '../base/index.ts';
import { Random } from '../signal/index.ts';
import { conceal, damageOf } from '../simulate/index.ts';
import { interpolated } from './concealment/interpolated.ts';
import type { Detector } from './detector.ts';
import { isLoss } from './finding.ts';
import { examineSource } from './pass.ts';

async function findingsIn(...planes: readonly Int32Array[]) {
  const source = memorySource(planes, { name: 'test', rate: rate(48_000), bits: 16 });
  return (await examineSource(source, [interpolated as unknown as Detector])).findings;
}

function sound(frames: number, seed = 3): Int32Array {
  const random = new Random(seed);
  let state = 0;
  return Int32Array.from({ length: frames }, () => {
    state = 0.9 * state + 600 * random.gaussian();
    return Math.round(state);
  });
}

/** Twice as many samples: every second one lies midway. */
function drawnOut(plane: Int32Array): Int32Array {
  return Int32Array.from({ length: 2 * plane.length - 1 }, (_, i) =>
    i % 2 === 0 ? plane[i / 2] : Math.floor((plane[(i - 1) / 2] + plane[(i + 1) / 2]) / 2),
  );
}

/** One of two heads of a DAT: every second sample, in the other channel the other ones (formats.md 5.6). */
function withoutHead(planes: readonly Int32Array[], start: number, length: number): Int32Array[] {
  const losses = planes.map((_, c) => {
    const lost = (frame: number) => frame % 2 === c;
    return { channel: c + 1, start, length, lost, pattern: 'every second sample', cause: 'head' };
  });
  const policy = { rules: [{ upTo: Number.POSITIVE_INFINITY, method: { kind: 'line', rounding: 'floor' } }] } as const;
  return [...conceal({ planes }, damageOf(planes.length, planes[0].length, [losses]), policy).planes];
}

describe('sound drawn out with straight lines', () => {
  it('and faded afterwards is no loss: said once, with its extent and the share that no deck leaves', async () => {
    const faded = drawnOut(sound(30_000)).map((x, i) => Math.round(x * (1 - i / 70_000)));
    const findings = await findingsIn(faded);
    expect(findings.filter(isLoss)).toEqual([]);
    expect(findings).toHaveLength(1);
    expect(findings[0]).toMatchObject({ kind: 'straight-lines', detail: { period: 2 } });
    expect(findings[0].length).toBeGreaterThan(40_000);
    expect(findings[0].detail.besideShare).toBeGreaterThan(0.01);
    expect(findings[0].detail.cause).toContain('made at half the rate');
  });

  it('and left exactly so may be a lost head: one finding that says both, pauses or not', async () => {
    const drawn = drawnOut(sound(60_000));
    for (const plane of [drawn, drawn.map((x, i) => (i % 30_000 < 4000 ? 0 : x))]) {
      const findings = await findingsIn(plane);
      expect(findings).toHaveLength(1);
      expect(findings[0]).toMatchObject({ kind: 'interpolated', confidence: 0.5, detail: { besideShare: 0 } });
      expect(findings[0].detail.cause).toContain('cannot tell');
      expect(findings[0].length).toBeGreaterThan(110_000);
    }
  });
});

describe('one of two heads lost', () => {
  it('for a whole tape is a loss in both channels, each the witness of the other', async () => {
    const findings = await findingsIn(...withoutHead([sound(120_000), sound(120_000, 4)], 0, 120_000));
    expect(findings.map(({ kind, channels }) => `${kind} in ${channels}`).sort()).toEqual([
      'interpolated in 1',
      'interpolated in 2',
    ]);
    for (const { confidence, detail } of findings) {
      expect(confidence).toBeGreaterThan(0.99);
      expect(detail.cause).toContain('one of two heads lost');
    }
  });

  it('now and then is told stretch by stretch', async () => {
    let planes: readonly Int32Array[] = [sound(90_000)];
    for (let k = 0; k < 4; k++) planes = withoutHead(planes, 5000 + 20_000 * k, 1440);
    const findings = await findingsIn(...planes);
    expect(findings.map(({ kind, start }) => [kind, start])).toEqual(
      [0, 1, 2, 3].map((k) => ['interpolated', 5000 + 20_000 * k]),
    );
    expect(findings.every(({ detail }) => detail.cause === undefined)).toBe(true);
  });
});
