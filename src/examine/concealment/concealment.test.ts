// Each class of concealment on a real kind of sound with known damage, the near misses that must stay silent, and the facts a
// finding states. Recall and precision over many recordings are `npm run score`; here single cases are exact.
import { describe, expect, it } from 'vitest';
import { memorySource, rate } from '../../base/index.ts';
import { Random } from '../../signal/index.ts';
import {
  type ConcealMethod,
  conceal,
  damageOf,
  encodeTape,
  type Loss,
  synthesiseProgramme,
} from '../../simulate/index.ts';
import { findLaw } from '../../tape/index.ts';
import type { Detector } from '../detector.ts';
import type { Finding } from '../finding.ts';
import { examineSource } from '../pass.ts';
import { olderWordRinging } from '../testing/older-word.ts';
import { held } from './held.ts';
import { interpolated } from './interpolated.ts';
import { muted } from './muted.ts';

const ALL = [interpolated, held, muted] as unknown as readonly Detector[];
const RATE = rate(48_000);

async function findingsOf(planes: readonly Int32Array[], bits = 16): Promise<readonly Finding[]> {
  return (await examineSource(memorySource(planes, { name: 'test', rate: RATE, bits }), ALL)).findings;
}

/** Loud noise-like sound: innovation of about 600 steps, so that a few replaced samples are certain. */
function loud(frames: number, seed = 3): Int32Array {
  const random = new Random(seed);
  let state = 0;
  return Int32Array.from({ length: frames }, () => {
    state = 0.9 * state + 600 * random.gaussian();
    return Math.round(state);
  });
}

/** It glides into a hold, and only where the hold ends does it jump. */
function smooth(frames: number, seed: number): Int32Array {
  const random = new Random(seed);
  let [value, slope] = [0, 0];
  return Int32Array.from({ length: frames }, () => {
    slope = 0.97 * slope + 25 * random.gaussian();
    value = 0.995 * value + slope;
    return Math.round(value);
  });
}

function concealed(
  plane: Int32Array,
  loss: Omit<Loss, 'channel' | 'pattern' | 'cause'>,
  method: ConcealMethod,
): Int32Array {
  const losses = [{ ...loss, channel: 1, pattern: 'test', cause: 'test' }];
  const policy = { rules: [{ upTo: Number.POSITIVE_INFINITY, method }] };
  return conceal({ planes: [plane] }, damageOf(1, plane.length, [losses]), policy).planes[0];
}

const LINE = { kind: 'line', rounding: 'floor' } as const;

describe('one burst in loud sound', () => {
  it.each([4, 6, 12, 40])('a straight line over %i samples is found where it lies', async (length) => {
    const findings = await findingsOf([concealed(loud(50_000), { start: 20_000, length }, LINE)]);
    expect(findings).toHaveLength(1);
    expect(findings[0]).toMatchObject({ kind: 'interpolated', channels: [1], start: 20_000, length, measured: length });
    expect(findings[0].expectedByChance).toBeLessThan(0.01);
  });

  it.each([
    ['every 2nd sample, one head lost', 2, 'x.', (i: number) => i % 2 === 0],
    ['3 of 5, even-track head lost', 5, 'xxx..', (i: number) => i % 5 < 3],
    ['3 of 6, one head lost in 625 lines', 6, 'xxx...', (i: number) => i % 6 < 3],
    ['1 of 15, one track lost', 15, 'x..............', (i: number) => i % 15 === 0],
  ] as const)('%s is found with its lattice', async (_, period, pattern, isLost) => {
    const start = 20_001;
    const lost = (frame: number) => isLost(frame - start);
    const findings = await findingsOf([concealed(loud(50_000), { start, length: 600, lost }, LINE)]);
    expect(findings).toHaveLength(1);
    expect(findings[0]).toMatchObject({ kind: 'interpolated', start, detail: { period, pattern } });
    expect(Math.abs(findings[0].length - 600)).toBeLessThanOrEqual(period);
  });

  it.each([4, 8, 60])('a hold over %i samples is found where it lies', async (length) => {
    const findings = await findingsOf([concealed(loud(50_000), { start: 20_000, length }, { kind: 'hold' })]);
    expect(findings).toHaveLength(1);
    expect(findings[0]).toMatchObject({ kind: 'held', start: 20_000, length, measured: length });
  });

  it('a hold over most of a field is found from end to end, wherever it begins', async () => {
    const plane = smooth(60_000, 5);
    for (let k = 0; k < 16; k++) {
      const start = 20_000 + 16 * k;
      const findings = await findingsOf([concealed(plane, { start, length: 694 }, { kind: 'hold' })]);
      expect(findings.map(({ kind }) => kind)).toEqual(['held']);
      // A first or last sample may stand still by itself.
      expect(Math.abs(findings[0].start - start)).toBeLessThanOrEqual(1);
      expect(Math.abs(findings[0].length - 694)).toBeLessThanOrEqual(2);
    }
  });

  it.each([1400, 1800, 5000])(
    'a hold of %i samples that the sound glides into is found from end to end',
    async (length) => {
      const plane = smooth(80_000, 5);
      const found: Finding[] = [];
      for (let k = 0; k < 8; k++) {
        const start = 20_000 + 37 * k;
        const findings = await findingsOf([concealed(plane, { start, length }, { kind: 'hold' })]);
        found.push(...findings);
        expect(findings.map(({ kind }) => kind)).toEqual(['held']);
        expect(Math.abs(findings[0].start - start)).toBeLessThanOrEqual(1);
        expect(Math.abs(findings[0].length - length)).toBeLessThanOrEqual(2);
      }
      expect(found).toHaveLength(8);
    },
  );

  it('a held field in sound of a few steps is told by its length alone', async () => {
    const soft = smooth(60_000, 6).map((x) => Math.round(x / 60));
    const start = soft.findIndex((x, i) => i > 20_000 && Math.abs(x) >= 8);
    const findings = await findingsOf([concealed(soft, { start, length: 525 }, { kind: 'hold' })]);
    expect(findings.map(({ kind }) => kind)).toEqual(['held']);
  });

  it('every 2nd sample held in sound of a step or two is found where it goes on for long', async () => {
    // Away from zero: a held zero is no hit.
    const soft = loud(50_000).map((x) => Math.round(x / 400) + 30);
    const lost = (frame: number) => frame % 2 === 0;
    const findings = await findingsOf([concealed(soft, { start: 20_001, length: 1440, lost }, { kind: 'hold' })]);
    expect(findings).toMatchObject([{ kind: 'held', detail: { period: 2 } }]);
  });

  it('a mute of 60 samples is found that breaks the sound off and lets it in by a fade', async () => {
    const method = { kind: 'mute', fadeOutFrames: 0, fadeInFrames: 96, releaseFrames: 0 } as const;
    const plane = smooth(60_000, 5).map((x) => Math.round(x / 16));
    const start = plane.findIndex((x, i) => i > 20_000 && Math.abs(x) >= 60);
    const findings = await findingsOf([concealed(plane, { start, length: 60 }, method)]);
    expect(findings).toMatchObject([{ kind: 'muted', detail: { silentFrom: start } }]);
  });

  it.each([24, 735, 5000])('a mute of %i samples is found, its ramps within the finding', async (length) => {
    const method = { kind: 'mute', fadeOutFrames: 48, fadeInFrames: 96, releaseFrames: 0 } as const;
    const findings = await findingsOf([concealed(loud(50_000), { start: 20_000, length }, method)]);
    expect(findings.map((f) => f.kind)).toEqual(['muted']);
    expect(findings[0].detail).toMatchObject({ silentFrames: expect.any(Number) });
    expect(Math.abs((findings[0].measured as number) - length)).toBeLessThanOrEqual(4);
    expect(findings[0].start).toBeLessThanOrEqual(20_000);
    expect(findings[0].start + findings[0].length).toBeGreaterThanOrEqual(20_000 + length + 60);
  });

  it('a head that is gone for the whole recording is one finding per channel', async () => {
    const start = 1;
    const lost = (frame: number) => frame % 2 === 0;
    const findings = await findingsOf([concealed(loud(100_000), { start, length: 99_900, lost }, LINE)]);
    expect(findings).toHaveLength(1);
    expect(findings[0].length).toBeGreaterThan(99_000);
  });

  it('16-bit sound in a 24-bit container is judged in its own steps', async () => {
    const plane = concealed(loud(50_000), { start: 20_000, length: 6 }, LINE).map((x) => x * 256);
    const findings = await findingsOf([plane], 24);
    expect(findings).toHaveLength(1);
    expect(findings[0]).toMatchObject({ kind: 'interpolated', start: 20_000, length: 6 });
  });
});

describe('what nobody can see is not claimed', () => {
  it('one interpolated sample', async () => {
    expect(await findingsOf([concealed(loud(50_000), { start: 20_000, length: 1 }, LINE)])).toEqual([]);
  });

  it('eight interpolated samples in a whisper', async () => {
    const whisper = loud(50_000).map((x) => Math.round(x / 600));
    expect(await findingsOf([concealed(whisper, { start: 20_000, length: 8 }, LINE)])).toEqual([]);
  });
});

describe('near misses stay silent', () => {
  const sine = (hz: number, level: number, clip = Number.POSITIVE_INFINITY) =>
    Int32Array.from({ length: 96_000 }, (_, i) => {
      const value = level * Math.sin((2 * Math.PI * hz * i) / 48_000);
      return Math.round(Math.max(-clip, Math.min(clip, value)));
    });
  const cases: readonly (readonly [string, Int32Array])[] = [
    ['a deep tone', sine(31, 30_000)],
    ['a middle tone', sine(313, 20_000)],
    ['a quiet tone', sine(1000, 40)],
    ['a tone at an even part of the rate', sine(6000, 20_000)],
    ['a clipped tone', sine(200, 40_000, 32_767)],
    ['a square wave', sine(500, 1e9, 12_000)],
    ['a triangle', Int32Array.from({ length: 96_000 }, (_, i) => 60 * Math.abs((i % 400) - 200) - 6000)],
    ['a triangle of no whole period', triangle(440.3)],
    ['a soft triangle of no whole period', triangle(97.7, 3000)],
    ['a staircase', Int32Array.from({ length: 96_000 }, (_, i) => 300 * (Math.floor(i / 32) % 64))],
    ['digital silence with one click', Int32Array.from({ length: 96_000 }, (_, i) => (i === 50_000 ? 20_000 : 0))],
    ['a fade to digital silence and back', fadeOutAndBack()],
    ['a fade to a resting value and back', fadeOutAndBack().map((x) => x - 1)],
    ['a cut to a resting value', loud(96_000).map((x, i) => (i > 40_000 && i < 45_000 ? -1 : x))],
    ['a second at rest away from zero', loud(96_000).map((x, i) => (i > 30_000 && i < 80_000 ? -300 : x))],
    ['rests of a shorter word that was resampled', rests()],
    ['a soft tone of six samples, dithered', dithered(3)],
    ['a tone of six samples, dithered', dithered(3000)],
  ];

  it.each(cases)('%s', async (_, plane) => {
    expect(await findingsOf([plane])).toEqual([]);
  });

  it('an invented concert of 30 seconds on four channels', async () => {
    const { planes } = synthesiseProgramme({ channels: 4, seconds: 30, rate: RATE, bits: 16, seed: 99 });
    expect(await findingsOf(planes)).toEqual([]);
  });
});

describe('a mute and an editor’s cut', () => {
  /** Strokes that die away to air of about 30 steps, three half seconds apart and then one with a whole second of rest. */
  const strokes = (seconds: number) => {
    const random = new Random(8);
    return Int32Array.from({ length: seconds * 48_000 }, (_, i) => {
      const beat = i % 120_000;
      const since = beat < 72_000 ? beat % 24_000 : beat - 72_000;
      return Math.round((9000 * Math.exp(-since / 2400) + 30) * random.gaussian());
    });
  };
  /** Closes 50 ms after the last sample above the threshold, hard; opens with the first. */
  const gated = (x: Int32Array, threshold: number) => {
    let open = 0;
    return x.map((v) => {
      open = Math.abs(v) > threshold ? 2400 : open - 1;
      return open > 0 ? v : 0;
    });
  };
  const kindsOf = async (plane: Int32Array) => new Set((await findingsOf([plane])).map((f) => f.kind));

  it('pauses that a gate has cut are silences, of which nobody can tell', async () => {
    expect(await kindsOf(gated(strokes(20), 300))).toEqual(new Set(['silence']));
  });

  it('so are those of a high threshold in soft passages, far above which nothing near rises', async () => {
    const x = strokes(40).map((v, i) => Math.round(v * (Math.floor(i / 480_000) % 2 === 0 ? 2 : 0.25)));
    expect(await kindsOf(gated(x, 700))).toEqual(new Set(['silence']));
  });

  it('mutes that no one threshold explains are mutes, in the tails of the strokes as well', async () => {
    const x = strokes(20);
    const starts = Array.from({ length: 12 }, (_, k) => 30_000 + k * 73_123);
    for (const start of starts) x.fill(0, start, start + 1440);
    const findings = await findingsOf([x]);
    expect(findings.map((f) => [f.kind, f.detail.silentFrom])).toEqual(starts.map((start) => ['muted', start]));
  });

  it('the same length of zeros where the sound is as quiet elsewhere without being cut is a mute', async () => {
    const x = strokes(20);
    const findings = await findingsOf([x.fill(0, 576_000, 578_400)]);
    expect(findings).toMatchObject([{ kind: 'muted', start: 576_000, measured: 2400 }]);
  });

  it('tones that begin and end where the wave crosses zero are no sound between mutes', async () => {
    const bursts = Int32Array.from({ length: 480_000 }, (_, i) =>
      i % 24_000 < 9600 ? Math.round(9000 * Math.sin((2 * Math.PI * 440 * i) / 48_000)) : 0,
    );
    expect(await kindsOf(bursts)).toEqual(new Set(['silence']));
  });

  it('a hard mute in sound of a few steps is told by the evenness around it', async () => {
    const whisper = loud(96_000).map((x) => Math.round(x / 400));
    const findings = await findingsOf([whisper.fill(0, 40_000, 40_735)]);
    expect(findings).toMatchObject([{ kind: 'muted', measured: expect.closeTo(735, -1) }]);
  });
});

describe('silences of a programme that is made of pieces', () => {
  /** Strokes of half a second, faded out over some 15 ms, then silence until the next: the pieces of a drum kit. */
  const kit = (seconds: number, restFrames: number) => {
    const random = new Random(12);
    return Int32Array.from({ length: seconds * 48_000 }, (_, i) => {
      const since = i % 24_000;
      const end = 24_000 - restFrames;
      const fade = Math.max(0, Math.min(1, (end - since) / 720));
      return Math.round(9000 * Math.exp(-since / 6000) * fade ** 2 * random.gaussian());
    });
  };

  it.each([300, 1500])('after a short fade, before the next stroke of it: %i frames', async (restFrames) => {
    expect((await findingsOf([kit(20, restFrames)])).filter(({ kind }) => kind === 'muted')).toEqual([]);
  });

  it('where one piece breaks off, it is one more of these', async () => {
    const x = kit(20, 1500);
    x.fill(0, 239_000 - 2000, 240_000);
    expect((await findingsOf([x])).filter(({ kind }) => kind === 'muted')).toEqual([]);
  });

  it('mutes in the middle of steady sound are no gate, though one threshold would explain them all', async () => {
    const x = loud(960_000).map((v, i) => (i < 20_000 ? 4 * v : v));
    const starts = Array.from({ length: 17 }, (_, k) => 60_000 + 51_111 * k);
    for (const start of starts) x.fill(0, start, start + 1440);
    const findings = await findingsOf([x]);
    expect(findings.map((f) => [f.kind, f.detail.silentFrom])).toEqual(starts.map((start) => ['muted', start]));
  });

  it('the lowest bit of an older word in 24 bits rings and rests by itself', async () => {
    expect(await findingsOf([olderWordRinging(400_000, 5)], 24)).toEqual([]);
  });
});

describe('what breaks off is muted, what passes through zero is not', () => {
  it('every other field gone from sound of 24 bits, below the lowest bit of 16', async () => {
    const x = loud(96_000).map((v) => Math.round(v / 16));
    const starts = Array.from({ length: 40 }, (_, k) => 4000 + 1050 * k);
    for (const start of starts) x.fill(0, start, start + 525);
    const findings = await findingsOf([x], 24);
    expect(findings.every((f) => f.kind === 'muted')).toBe(true);
    const found = starts.filter((start) => findings.some((f) => Math.abs(Number(f.detail.silentFrom) - start) < 4));
    expect(found).toEqual(starts);
  });

  it('a silence that fading sound could make is a mute if it is as long as several mutes, to the sample or a little more', async () => {
    const faded = (length: number) => {
      const x = loud(300_000).map((v, i) =>
        Math.round(v * Math.min(1, Math.max(0.0006, Math.abs(i - 200_000) / 40_000 - 0.5))),
      );
      for (const start of [40_000, 90_000]) x.fill(0, start, start + 735);
      return x.fill(0, 200_100, 200_100 + length);
    };
    const near = (f: Finding) => f.start > 199_000 && f.start < 201_000;
    expect((await findingsOf([faded(735)])).filter(near)).toMatchObject([{ kind: 'muted', confidence: 0.95 }]);
    expect((await findingsOf([faded(650)])).filter(near)).toEqual([]);
  });

  it('a row of zeros where a wave rests on zero for a moment', async () => {
    const rest = 48_000;
    const x = Int32Array.from({ length: 96_000 }, (_, i) => {
      const at = i < rest ? i : Math.max(rest, i - 14);
      return Math.round(
        60 * Math.sin((2 * Math.PI * 100 * at) / 48_000) + 15 * Math.sin((2 * Math.PI * 900 * at) / 48_000),
      );
    });
    expect(await findingsOf([x])).toEqual([]);
  });
});

describe('companded sound', () => {
  const laws = [
    ['nonlinear-12', 32_000, 16],
    ['eight-mm', 31_469, 10],
  ] as const;

  // At the peaks of its waves a companded tape has steps of 32 or 64: equal neighbours and straight lines by the hundred.
  it.each(laws)('%s, undamaged: nothing is claimed', async (id, hz, linearBits) => {
    const { planes } = synthesiseProgramme({ channels: 2, seconds: 40, rate: rate(hz), bits: 24, seed: 5 });
    const tape = encodeTape(
      { planes, bits: 24, rate: rate(hz) },
      { rate: rate(hz), wordBits: linearBits, outputBits: 16, law: findLaw(id), shorten: 'round' },
    );
    expect(await findingsOf(tape.planes)).toEqual([]);
  });

  it('a hold over 60 samples is found all the same', async () => {
    const tape = encodeTape(
      { planes: [loud(50_000)], bits: 16, rate: RATE },
      { rate: RATE, wordBits: 16, outputBits: 16, law: findLaw('nonlinear-12'), shorten: 'round' },
    );
    const findings = await findingsOf([concealed(tape.planes[0], { start: 20_000, length: 60 }, { kind: 'hold' })]);
    expect(findings).toMatchObject([{ kind: 'held', start: 20_000, measured: 60 }]);
  });
});

/** Moves of some hundred steps, one at a time; in between the filter's last ripple of one step, and rest. */
function rests(): Int32Array {
  const random = new Random(12);
  const plane = new Int32Array(96_000).fill(-205);
  for (let at = 500; at < 95_000; at += 500 + random.integer(1200)) {
    const height = random.uniform() < 0.5 ? 300 : -300;
    for (let k = -200; k <= 200; k++) {
      const x = 0.9 * k + 0.3;
      plane[at + k] += Math.round((height * Math.sin(x)) / x);
    }
  }
  return plane;
}

/** A tone at a sixth of the rate: it keeps step with every lattice of 2, 3 or 6. */
function dithered(height: number): Int32Array {
  const random = new Random(11);
  return Int32Array.from({ length: 96_000 }, (_, i) =>
    Math.round(height * Math.sin((Math.PI * i) / 3) + random.uniform() + random.uniform() - 1),
  );
}

/** Made of straight lines from corner to corner. */
function triangle(hz: number, height = 24_000): Int32Array {
  return Int32Array.from({ length: 96_000 }, (_, i) => {
    const phase = ((hz * i) / 48_000) % 1;
    return Math.round(height * (phase < 0.5 ? 4 * phase - 1 : 3 - 4 * phase));
  });
}

/** A programme that fades within half a second, rests in exact zeros and fades in again. */
function fadeOutAndBack(): Int32Array {
  return loud(96_000).map((x, i) => {
    const distance = Math.abs(i - 48_000);
    return Math.round(x * Math.min(1, Math.max(0, (distance - 6000) / 24_000)));
  });
}
