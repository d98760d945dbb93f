// "What is it really?" on a grid of simulated formats through digital and noisy analogue ways: how often it is right, undecided, wrong.
// `node score/identify.ts [part of a name]`; about ten minutes; writes docs/scores-identify.md when the whole grid was run.
import { writeFileSync } from 'node:fs';
import { join, resolve } from 'node:path';
import { type Rate, rate, rateHz } from '../src/base/index.ts';
import { measureCapture } from '../src/measure/analyse/measure-capture.ts';
import { identify } from '../src/measure/identify/identify.ts';
import { rateId } from '../src/measure/identify/rate-answer.ts';
import { captureThrough, type Device, programmeWaves } from '../src/measure/testing/captures.ts';
import { Random } from '../src/signal/index.ts';
import { findLaw } from '../src/tape/index.ts';

interface Truth {
  readonly name: string;
  readonly word: string;
  readonly rate: Rate;
  readonly device: Device;
  /** quantising noise at its loudest, rms against full scale, dB */
  readonly noiseDb: number;
  /** finest step, dB against full scale */
  readonly stepDb: number;
}

const linear = (bits: number, at: Rate): Truth => ({
  name: `${bits} bits, ${Math.round(rateHz(at))} Hz`,
  word: `linear-${bits}`,
  rate: at,
  device: { word: bits },
  noiseDb: -6.02 * (bits - 1) - 10.8,
  stepDb: -6.02 * (bits - 1),
});
const law = (id: string, word: string, at: Rate, noiseDb: number, stepDb: number): Truth => ({
  name: `${word}, ${Math.round(rateHz(at))} Hz`,
  word,
  rate: at,
  device: { law: findLaw(id) },
  noiseDb,
  stepDb,
});

const FORMATS: readonly Truth[] = [
  law('eight-mm', 'eight-mm-16-64-320', rate(31_250), -49, -54),
  law('eight-mm', 'eight-mm-16-64-320', rate(4_500_000, 143), -49, -54),
  law('eight-mm-32-64-256-sign-magnitude', 'eight-mm-32-64-256', rate(31_250), -49, -54),
  law('nonlinear-12', 'nonlinear-12', rate(32_000), -68, -90),
  linear(8, rate(32_000)),
  linear(10, rate(31_250)),
  linear(12, rate(48_000)),
  linear(14, rate(6_300_000, 143)),
  linear(16, rate(44_100)),
  linear(20, rate(48_000)),
];

const WAYS: readonly (readonly [string, Device])[] = [
  ['digital, 24-bit file', {}],
  ['digital, noisy converter', { inputNoiseDb: -75 }],
  ['analogue, -95 dBFS', { captureHz: 48_000, outputNoiseDb: -95, inputNoiseDb: -100 }],
  ['analogue, -85 dBFS', { captureHz: 44_100, outputNoiseDb: -85, inputNoiseDb: -90 }],
  ['analogue, -75 dBFS', { captureHz: 48_000, outputNoiseDb: -75, inputNoiseDb: -85 }],
  ['analogue, -65 dBFS', { captureHz: 96_000, outputNoiseDb: -65, inputNoiseDb: -75 }],
];

type Verdict = 'right' | 'open' | 'wrong' | 'confidently wrong';
const stereo = programmeWaves();
const programme = { hz: stereo.hz, planes: [stereo.planes[0]] };
const only = process.argv[2];
const rows: string[][] = [];
const tallies = { word: new Map<string, number>(), rate: new Map<string, number>() };

for (const [k, truth] of FORMATS.entries()) {
  for (const [way, base] of WAYS) {
    if (only && !`${truth.name} ${way}`.includes(only)) continue;
    const random = new Random(100 + k).fork(way);
    const device: Device = {
      ...base,
      ...truth.device,
      tapeHz: rateHz(truth.rate),
      recordDb: Math.round(10 * (4 * random.uniform() - 2)) / 10,
      ...(base.captureHz
        ? { outputDb: -6 * random.uniform(), ppm: 80 * random.uniform() - 40, filterDb: 60 + 40 * random.uniform() }
        : { shorten: random.integer(2) ? 'round' : 'truncate' }),
      lead: 700 + random.integer(3000),
      seed: 1 + random.integer(1000),
    };
    const source = captureThrough(device, programme);
    const { word, rate: found } = await identify(source, await measureCapture(source));
    const wordVerdict = verdictOf(word, truth.word);
    const rateVerdict = verdictOf(found, rateId(truth.rate));
    const noise = Math.max(base.outputNoiseDb ?? -200, base.inputNoiseDb ?? -200);
    // Behind a noisy converter the word of a recorder looks like the device's own.
    const isRecordersWord = base.inputNoiseDb !== undefined && ['linear-16', 'linear-20'].includes(truth.word);
    const canWord = base.captureHz === undefined ? !isRecordersWord : truth.noiseDb > noise;
    const canRate =
      base.captureHz === undefined || (truth.noiseDb > noise - 6 && truth.stepDb > (base.inputNoiseDb ?? -200) + 10);
    count(tallies.word, wordVerdict, canWord);
    count(tallies.rate, rateVerdict, canRate);
    rows.push([
      truth.name,
      way,
      said(word.answer, wordVerdict),
      canWord ? 'yes' : 'no',
      said(found.answer, rateVerdict),
      canRate ? 'yes' : 'no',
    ]);
    console.log(rows.at(-1)?.join(' | '), '|', word.because[0]);
  }
}

/** Devices that no sheet describes: the word must not be told. */
const OUTSIDE: readonly (readonly [string, Device])[] = [
  ['11 bits, linear', { word: 11, captureHz: 48_000, outputNoiseDb: -90 }],
  ['telephone law, 32 kHz', { law: findLaw('g711-mu-law'), tapeHz: 32_000, captureHz: 48_000, outputNoiseDb: -85 }],
  ['telephone law, digital', { law: findLaw('g711-a-law') }],
  ['noise 60 dB below the sound', { captureHz: 48_000, outputNoiseDb: -90, change: noisy(0.001) }],
  ['10 bits in a 2:1 compander', { outputNoiseDb: -80, change: companded }],
  ['nothing but analogue', { captureHz: 48_000, outputNoiseDb: -70 }],
];
let told = 0;
for (const [name, device] of OUTSIDE) {
  if (only && !name.includes(only)) continue;
  const source = captureThrough(device, programme);
  const { word } = await identify(source, await measureCapture(source));
  if (word.answer !== null) told++;
  rows.push([name, 'outside the sheets', word.answer === null ? 'cannot tell' : `WRONG: ${word.answer}`, 'no', '', '']);
  console.log(rows.at(-1)?.join(' | '));
}

function noisy(share: number) {
  const random = new Random(4);
  return (planes: readonly Float64Array[]) => {
    for (const plane of planes) plane.set(plane.map((x) => x * (1 + share * random.gaussian())));
  };
}

function companded(planes: readonly Float64Array[]): void {
  for (const plane of planes) {
    let envelope = 0;
    for (let n = 0; n < plane.length; n++) {
      envelope = Math.max(Math.abs(plane[n]), envelope * 0.9999, 1e-4);
      const gain = Math.sqrt(envelope);
      plane[n] = (Math.round((plane[n] / gain) * 512) / 512) * gain;
    }
  }
}

function verdictOf(
  answer: { readonly answer: string | null; readonly remaining: readonly { readonly id: string }[] },
  truth: string,
): Verdict {
  if (answer.answer !== null) return answer.answer === truth ? 'right' : 'confidently wrong';
  return answer.remaining.some((one) => one.id === truth) ? 'open' : 'wrong';
}

function said(answer: string | null, verdict: Verdict): string {
  return verdict === 'right'
    ? 'right'
    : verdict === 'open'
      ? 'cannot tell, truth among the rest'
      : verdict === 'wrong'
        ? 'nothing fits'
        : `WRONG: ${answer}`;
}

function count(tally: Map<string, number>, verdict: Verdict, can: boolean): void {
  const key = `${can ? 'tellable' : 'not tellable'} ${verdict}`;
  tally.set(key, (tally.get(key) ?? 0) + 1);
}

const line = (cells: readonly string[]) => `| ${cells.join(' | ')} |`;
const summary = (['word', 'rate'] as const).flatMap((what) =>
  [true, false].map((can) => {
    const at = (verdict: Verdict) => tallies[what].get(`${can ? 'tellable' : 'not tellable'} ${verdict}`) ?? 0;
    const all = at('right') + at('open') + at('wrong') + at('confidently wrong');
    return line([
      what,
      can ? 'yes' : 'no',
      `${all}`,
      `${at('right')}`,
      `${at('open')}`,
      `${at('wrong')}`,
      `${at('confidently wrong')}`,
    ]);
  }),
);
const text = [
  '# Scores of "What is it really?"',
  '',
  'Made by `node score/identify.ts`: simulated formats, record levels within 2 dB of full scale, filters of 60 to 100 dB, clocks within 40 ppm. "Could be told": the path is',
  'digital, or the quantising noise is above the added noise (word), or above it less 6 dB with a converter that noise does not keep busy (rate). Else nobody could, and the right answer is that it cannot be told. ' +
    'Nobody could either where noise keeps 16 or 20 bits of a longer file busy: a recorder may have made that word.',
  '',
  line([
    'question',
    'could be told',
    'cases',
    'right',
    'cannot tell, truth remains',
    'nothing fits',
    'confidently wrong',
  ]),
  line(['---', '---', '---', '---', '---', '---', '---']),
  ...summary,
  line(['word', 'outside the sheets', `${OUTSIDE.length}`, '', `${OUTSIDE.length - told}`, '', `${told}`]),
  '',
  line(['format', 'way', 'word', 'could be told', 'rate', 'could be told']),
  line(['---', '---', '---', '---', '---', '---']),
  ...rows.map(line),
  '',
].join('\n');
console.log(summary.join('\n'));
if (!only) writeFileSync(join(resolve(import.meta.dirname, '..'), 'docs/scores-identify.md'), text);
