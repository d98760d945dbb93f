// "What is it really?" on a grid of simulated formats through digital and noisy analogue ways: how often it is right, undecided, wrong.
// `node score/identify.ts ['part of a name|another'] [--seeds 0,1,2] [--workers 2]`; about five minutes a seed; writes docs/scores-identify.md when the whole grid was
// run with more than one seed. A seed stands for other levels, clocks, filters, delays and noise.
import { writeFileSync } from 'node:fs';
import { join, resolve } from 'node:path';
import { parseArgs } from 'node:util';
import { isMainThread, parentPort, Worker, workerData } from 'node:worker_threads';
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

/** Devices that no sheet describes: no word of the sheets may be told, nor a rate but the one given. */
const OUTSIDE: readonly (readonly [string, Device, string?])[] = [
  ['9 bits, linear', { word: 9, captureHz: 48_000, outputNoiseDb: -80 }, '48000'],
  ['11 bits, linear', { word: 11, captureHz: 48_000, outputNoiseDb: -90 }, '48000'],
  ['11 bits, linear, noise as strong as its own', { word: 11, captureHz: 44_100, outputNoiseDb: -71 }, '48000'],
  ['13 bits, linear', { word: 13, tapeHz: 32_000, captureHz: 48_000, outputNoiseDb: -85, inputNoiseDb: -95 }, '32000'],
  ['15 bits, linear', { word: 15, tapeHz: 44_100, captureHz: 48_000, outputNoiseDb: -95 }, '44100'],
  [
    'telephone law, 32 kHz',
    { law: findLaw('g711-mu-law'), tapeHz: 32_000, captureHz: 48_000, outputNoiseDb: -85 },
    '32000',
  ],
  ['telephone law, digital', { law: findLaw('g711-a-law') }, '48000'],
  ['noise 60 dB below the sound', { captureHz: 48_000, outputNoiseDb: -90, change: noisy(0.001) }],
  ['10 bits in a 2:1 compander', { outputNoiseDb: -80, change: companded }, '48000'],
  ['nothing but analogue', { captureHz: 48_000, outputNoiseDb: -70 }],
  ['nothing but analogue, a 16-bit recorder', { captureHz: 44_100, captureBits: 16, outputNoiseDb: -110 }],
];

type Verdict = 'right' | 'open' | 'wrong' | 'confidently wrong';

interface Case {
  readonly seed: number;
  readonly name: string;
  readonly format?: number;
  readonly way?: number;
  readonly outside?: number;
}

interface Result {
  readonly cells: readonly string[];
  /** of the word, then of the rate: could it be told, and what was said */
  readonly verdicts: readonly (readonly [boolean, Verdict])[];
  /** outside the sheets: how many wrong answers were given */
  readonly told?: number;
  readonly because: string;
}

function casesOf(seeds: readonly number[], part: string): Case[] {
  return seeds
    .flatMap((seed) => [
      ...FORMATS.flatMap((truth, format) =>
        WAYS.map(([name], way): Case => ({ seed, name: `${truth.name} ${name}`, format, way })),
      ),
      ...OUTSIDE.map(([name], outside): Case => ({ seed, name, outside })),
    ])
    .filter(({ name }) => part.split('|').some((one) => name.includes(one)));
}

async function resultOf(one: Case, programme: Programme): Promise<Result> {
  if (one.outside !== undefined) return outsideResult(one.outside, one.seed, programme);
  const truth = FORMATS[one.format ?? 0];
  const [way, base] = WAYS[one.way ?? 0];
  const random = new Random(100 + 1000 * one.seed + (one.format ?? 0)).fork(way);
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
  return {
    verdicts: [
      [canWord, wordVerdict],
      [canRate, rateVerdict],
    ],
    cells: [
      truth.name,
      way,
      said(word.answer, wordVerdict),
      canWord ? 'yes' : 'no',
      said(found.answer, rateVerdict),
      canRate ? 'yes' : 'no',
    ],
    because: word.because.join('; '),
  };
}

async function outsideResult(index: number, seed: number, programme: Programme): Promise<Result> {
  const [name, device, rateTruth] = OUTSIDE[index];
  const source = captureThrough({ ...device, seed: seed + 1 }, programme);
  const { word, rate: found } = await identify(source, await measureCapture(source));
  const isRateWrong = found.answer !== null && found.answer !== rateTruth;
  const told = (word.answer === null ? 0 : 1) + (isRateWrong ? 1 : 0);
  const ofRate = found.answer === null ? 'cannot tell' : isRateWrong ? `WRONG: ${found.answer}` : 'right';
  const ofWord = word.answer === null ? 'cannot tell' : `WRONG: ${word.answer}`;
  return {
    told,
    verdicts: [],
    cells: [name, 'outside the sheets', ofWord, 'no', ofRate, ''],
    because: word.because.join('; '),
  };
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

type Programme = ReturnType<typeof programmeWaves>;

/** Answers to cases as they come, on a thread of its own. */
function work(): void {
  const stereo = programmeWaves();
  const programme = { hz: stereo.hz, planes: [stereo.planes[0]] };
  parentPort?.on('message', async (one: Case) => parentPort?.postMessage(await resultOf(one, programme)));
}

/** Every case on the next thread that is free. */
async function runAll(cases: readonly Case[], workers: number): Promise<Result[]> {
  const results: Result[] = [];
  let next = 0;
  const run = async () => {
    const worker = new Worker(new URL(import.meta.url), { workerData: 'worker' });
    for (let n = next++; n < cases.length; n = next++) {
      worker.postMessage(cases[n]);
      results[n] = await new Promise<Result>((resolve, reject) => {
        worker.once('message', resolve);
        worker.once('error', reject);
      });
      worker.removeAllListeners('error');
      console.log(`seed ${cases[n].seed}:`, results[n].cells.join(' | '), '|', results[n].because);
    }
    await worker.terminate();
  };
  await Promise.all(Array.from({ length: workers }, run));
  return results;
}

const line = (cells: readonly (string | number)[]) => `| ${cells.join(' | ')} |`;

function summary(results: readonly Result[]): string[] {
  const rows = ['word', 'rate'].flatMap((what, index) =>
    [true, false].map((can) => {
      const said = results.flatMap(({ verdicts }) => (verdicts[index]?.[0] === can ? [verdicts[index][1]] : []));
      const at = (verdict: Verdict) => said.filter((one) => one === verdict).length;
      return [what, can ? 'yes' : 'no', said.length, at('right'), at('open'), at('wrong'), at('confidently wrong')];
    }),
  );
  const outside = results.filter((one) => one.told !== undefined);
  const told = outside.reduce((sum, one) => sum + (one.told ?? 0), 0);
  return [...rows, ['word or rate', 'outside the sheets', outside.length, '', '', '', told]].map(line);
}

function page(cases: readonly Case[], results: readonly Result[], seeds: readonly number[]): string {
  const of = (seed: number) => results.filter((_, n) => cases[n].seed === seed);
  const columns = ['question', 'could be told', 'cases', 'right', 'cannot tell, truth remains', 'nothing fits'];
  const head = [line([...columns, 'confidently wrong']), line(Array(7).fill('---'))];
  const open = results.flatMap(({ cells, verdicts }, n) =>
    cases[n].seed !== seeds[0] && verdicts.some(([can, verdict]) => can && verdict !== 'right')
      ? [line([cases[n].seed, ...cells])]
      : [],
  );
  const titles = ['format', 'way', 'word', 'could be told', 'rate', 'could be told'];
  return [
    '# Scores of "What is it really?"',
    '',
    `Made by \`node score/identify.ts --seeds ${seeds.join()}\`: simulated formats, record levels within 2 dB of full scale, filters of 60 to 100 dB, clocks within 40 ppm. A seed stands for other`,
    'levels, clocks, filters, delays and noise. "Could be told": the path is digital, or the quantising noise is above the added noise (word), or above it less 6 dB with a converter that noise',
    'does not keep busy (rate). Else nobody could, and the right answer is that it cannot be told. Nobody could either where noise keeps 16 or 20 bits of a longer file busy: a recorder may have',
    'made that word.',
    ...seeds.flatMap((seed) => ['', `Seed ${seed}:`, '', ...head, ...summary(of(seed))]),
    '',
    `Cases of seed ${seeds[0]}:`,
    '',
    line(titles),
    line(titles.map(() => '---')),
    ...of(seeds[0]).map((one) => line(one.cells)),
    '',
    'Cases of the other seeds that could be told and were not:',
    '',
    line(['seed', ...titles]),
    line(['seed', ...titles].map(() => '---')),
    ...open,
    '',
  ].join('\n');
}

async function main(): Promise<void> {
  const { values, positionals } = parseArgs({
    options: { seeds: { type: 'string', default: '0' }, workers: { type: 'string', default: '2' } },
    allowPositionals: true,
  });
  const seeds = values.seeds.split(',').map(Number);
  const part = positionals[0] ?? '';
  const cases = casesOf(seeds, part);
  const results = await runAll(cases, Number(values.workers));
  for (const seed of seeds)
    console.log(`seed ${seed}\n${summary(results.filter((_, n) => cases[n].seed === seed)).join('\n')}`);
  if (part || seeds.length < 2) return;
  writeFileSync(join(resolve(import.meta.dirname, '..'), 'docs/scores-identify.md'), page(cases, results, seeds));
}

if (isMainThread) await main();
else if (workerData === 'worker') work();
