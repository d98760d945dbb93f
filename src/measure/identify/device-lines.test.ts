// The ladder alone, through steps of a known size and a known rate, with noise far stronger than the steps' own: what must be found, and where all must stay
// silent. The truth is the arithmetic of the test.
import { describe, expect, it } from 'vitest';
import { type FrameSource, memorySource, rate } from '../../base/index.ts';
import { Random, resampleReal } from '../../signal/index.ts';
import type { Placement } from '../locate/placement.ts';
import { programmePlan } from '../programme/plan.ts';
import { waveOf } from '../programme/waveform.ts';
import { LEAST_STRENGTH } from './device-lines.ts';
import { LEAST_STEP_STRENGTH, stepProfile, strongestStep } from './quiet-steps.ts';
import { rateScores } from './rate-lines.ts';
import { type ToneSpectrum, toneSpectrum } from './tone-spectrum.ts';

const HZ = 48_000;
const plan = programmePlan(rate(HZ), 24);
const ladder = plan.sections.filter(
  ({ group, sound }) =>
    group === 'ladder' && sound.kind === 'tones' && sound.tones[0].levelDb >= -70 && sound.tones[0].levelDb <= -40,
);
const STEP_DB = -66.2;

interface Chain {
  readonly tapeHz: number;
  readonly stepDb?: number;
  /** ahead of the steps, in steps */
  readonly sigma?: number;
  /** rms behind the device, against full scale */
  readonly noiseDb: number;
  readonly gain?: number;
}

async function spectraThrough({ tapeHz, stepDb, sigma = 0.05, noiseDb, gain = 1 }: Chain): Promise<ToneSpectrum[]> {
  const random = new Random(5);
  const from = ladder[0].start;
  const step = stepDb === undefined ? 0 : 10 ** (stepDb / 20);
  const wave = new Float64Array(ladder.length * tapeHz);
  for (const section of ladder) {
    const at = Math.round((section.start - from) * tapeHz);
    const sound = waveOf(section);
    for (let n = 0; n < tapeHz - 1; n++) {
      const x = sound(n / tapeHz) + sigma * step * random.gaussian();
      wave[at + n] = step === 0 ? x : step * Math.floor(x / step + 0.3);
    }
  }
  const back = tapeHz === HZ ? wave : resampleReal(wave, 0, tapeHz / HZ, ladder.length * HZ, { halfTaps: 24 });
  const noise = 10 ** (noiseDb / 20);
  const samples = Int32Array.from(back, (x) => Math.round(2 ** 23 * (gain * x + noise * random.gaussian())));
  const source: FrameSource = memorySource([samples], { name: 'ladder.wav', rate: rate(HZ), bits: 24 });
  const place: Placement = {
    plan,
    reference: 0,
    framesPerSecond: HZ,
    middleOffset: 0,
    frameOf: (seconds) => (seconds - from) * HZ,
    delays: [0],
    channels: [],
  };
  const spectra: ToneSpectrum[] = [];
  for (const section of ladder) {
    if (section.sound.kind === 'tones')
      spectra.push(await toneSpectrum(source, place, section, section.sound.tones[0], 0));
  }
  return spectra;
}

describe('steps seen in the harmonics of quiet tones', () => {
  it('finds their size below noise that is 15 dB stronger than theirs', async () => {
    const found = strongestStep(
      stepProfile(await spectraThrough({ tapeHz: HZ, stepDb: STEP_DB, noiseDb: -62 }), 1, 18_000),
    );
    expect(Math.abs(found.stepDb - STEP_DB)).toBeLessThan(0.15);
    expect(found.strength).toBeGreaterThan(3 * LEAST_STEP_STRENGTH);
  });

  it('tells it against what was sent, whatever the gain', async () => {
    const chain = { tapeHz: HZ, stepDb: STEP_DB, noiseDb: -90, gain: 0.5 };
    expect(
      Math.abs(strongestStep(stepProfile(await spectraThrough(chain), 0.5, 18_000)).stepDb - STEP_DB),
    ).toBeLessThan(0.15);
  });

  it.each<[string, Chain]>([
    ['there are no steps', { tapeHz: HZ, noiseDb: -62 }],
    ['noise keeps the steps busy', { tapeHz: HZ, stepDb: STEP_DB, sigma: 0.6, noiseDb: -100 }],
    ['the steps are far below the noise', { tapeHz: HZ, stepDb: -110, noiseDb: -62 }],
  ])('stays silent where %s', async (_, chain) => {
    expect(strongestStep(stepProfile(await spectraThrough(chain), 1, 18_000)).strength).toBeLessThan(
      LEAST_STEP_STRENGTH,
    );
  });
});

describe('folded lines of the rate', () => {
  const rates = [rate(6_300_000, 143), rate(44_100), rate(HZ)];

  it('finds the rate below noise that is stronger than that of the steps', async () => {
    const spectra = await spectraThrough({ tapeHz: 44_100, stepDb: STEP_DB, noiseDb: -65 });
    const { scores } = rateScores(spectra, [], 1, 20_000, rates);
    const [other, truth, own] = scores.map((one) => one.score);
    expect(truth).toBeGreaterThan(5 * LEAST_STRENGTH);
    expect(Math.max(other, own)).toBeLessThan(truth / 4);
  });

  it.each<[string, Chain]>([
    ['there are no steps', { tapeHz: 44_100, noiseDb: -65 }],
    ['noise keeps the steps busy', { tapeHz: 44_100, stepDb: STEP_DB, sigma: 0.6, noiseDb: -100 }],
  ])('stays silent where %s', async (_, chain) => {
    const { scores, chance } = rateScores(await spectraThrough(chain), [], 1, 20_000, rates);
    expect(Math.max(chance, ...scores.map((one) => one.score))).toBeLessThan(LEAST_STRENGTH);
  });
});
