// "What is it really?": word length or law, and sampling rate, from the measurement alone, with odds; or that it cannot be told, with what remains.
// Values decide where the path was digital; else noise against level, band edge and folded lines. Rules: docs/decisions/0015.
import { type FrameSource, type Rate, rateHz, type StopSignal } from '../../base/index.ts';
import { listFormats } from '../../tape/index.ts';
import type { CaptureMeasurement, ChannelMeasurement } from '../analyse/measure-capture.ts';
import { classesOf, linearId, sheetRates, type WordClass, wordClasses } from './hypotheses.ts';
import { fitWords, type WordFit } from './noise-fit.ts';
import { rateScores } from './rate-lines.ts';
import { type ValueEvidence, valueEvidence } from './value-evidence.ts';

export type SignalPath = 'digital' | 'analogue' | 'unknown';

export interface Candidate {
  readonly id: string;
  readonly label: string;
  /** probability against the other candidates listed, 0 to 1 */
  readonly probability: number;
}

export interface Answer {
  /** id of the candidate, or null: cannot be told */
  readonly answer: string | null;
  /** odds of the answer against the next best, at most a million; null without an answer */
  readonly odds: number | null;
  /** what the evidence does not exclude, likeliest first; empty where nothing fits */
  readonly remaining: readonly Candidate[];
  readonly because: readonly string[];
}

export interface Identity {
  readonly path: SignalPath;
  readonly pathBecause: string;
  readonly word: Answer;
  readonly rate: Answer;
  /** formats of the sheets that agree with what remains of both, likeliest first */
  readonly formats: readonly Candidate[];
}

export interface IdentifyOptions {
  /** what the user knows of the way from the device to the file */
  readonly path?: SignalPath;
  readonly stop?: StopSignal | undefined;
}

const MOST_ODDS = 1e6;
/** An answer needs these odds against everything else. */
const LEAST_ODDS = 100;
/** A misfit above this: the device is none of the hypotheses. */
const MOST_MISFIT = 3;
/** Points of a fit hang together: their sum of squares is worth less than theory says. */
const SQUARES_PER_NAT = 4;
/** Clocks of players and recorders together, parts per million. */
const CLOCK_PPM = 150;

export async function identify(
  source: FrameSource,
  measurement: CaptureMeasurement,
  options: IdentifyOptions = {},
): Promise<Identity> {
  const { placement, reference } = measurement;
  const channel = measurement.channels.find((one) => one.channel === reference + 1) ?? measurement.channels[0];
  const classes = wordClasses();
  const values = await valueEvidence(source, placement, reference, classes, options.stop);
  const fits = fitWords(channel, placement.plan.bits, classes);
  const { path, because } = pathOf(source, channel, values, options.path);
  const word = wordAnswer(source, values, fits, path, classes);
  const rate = await rateAnswer(source, measurement, channel, path);
  return { path, pathBecause: because, word, rate, formats: formatsFor(word, rate) };
}

function pathOf(source: FrameSource, channel: ChannelMeasurement, values: ValueEvidence, told: SignalPath | undefined) {
  if (values.laws.length > 0) {
    return { path: 'digital' as const, because: 'the samples keep to the code book of a companding law' };
  }
  if (told && told !== 'unknown') return { path: told, because: 'as given' };
  if (channel.idle.isConstant) {
    return {
      path: 'digital' as const,
      because: 'without signal every sample is the same: no analogue stage adds noise',
    };
  }
  const { stopHz, topHz } = channel.response;
  const half = rateHz(source.info.rate) / 2;
  if (stopHz !== null && stopHz < 0.85 * Math.min(half, topHz)) {
    return {
      path: 'analogue' as const,
      because: `the band ends at ${Math.round(stopHz)} Hz, far below half the rate of the file`,
    };
  }
  return { path: 'unknown' as const, because: 'nothing shows whether an analogue stage lay behind the device' };
}

function wordAnswer(
  source: FrameSource,
  values: ValueEvidence,
  fits: readonly WordFit[],
  path: SignalPath,
  classes: readonly WordClass[],
): Answer {
  if (values.laws.length > 0) return fromLaws(values, fits, classes);
  const best = fits[0];
  const fitting = fits.filter((fit) => fit.misfit <= MOST_MISFIT);
  const lattice = fits.find((fit) => fit.id === linearId(values.wordBits));
  // on a digital path the unused bits are the device's; a coarser answer of the noise would still be the better one
  if (path === 'digital' && values.wordBits > 0 && (!lattice || lattice.misfit <= MOST_MISFIT)) {
    return fromLattice(source, values, classes);
  }
  if (fitting.length === 0) {
    return {
      answer: null,
      odds: null,
      remaining: [],
      because: [`no word length or law of the sheets explains the noise (misfit ${best?.misfit.toFixed(1) ?? 'none'})`],
    };
  }
  return fromNoise(fitting, fits, classes);
}

function fromLaws(values: ValueEvidence, fits: readonly WordFit[], classes: readonly WordClass[]): Answer {
  const ranked = [...values.laws].sort((a, b) => squaresOf(fits, a) - squaresOf(fits, b));
  const remaining = probabilities(
    ranked.map((id) => ({ id, label: labelOf(id, classes), nats: -squaresOf(fits, id) / SQUARES_PER_NAT })),
  );
  const because = [`${values.values} distinct values, all in the code book`];
  if (ranked.length === 1) return { answer: ranked[0], odds: MOST_ODDS, remaining, because };
  const odds = oddsOf(remaining);
  return { answer: odds >= LEAST_ODDS ? ranked[0] : null, odds: odds >= LEAST_ODDS ? odds : null, remaining, because };
}

function fromLattice(source: FrameSource, values: ValueEvidence, classes: readonly WordClass[]): Answer {
  const { bits } = source.info;
  const id = linearId(values.wordBits);
  if (values.wordBits < bits) {
    return {
      answer: id,
      odds: MOST_ODDS,
      remaining: [{ id, label: labelOf(id, classes), probability: 1 }],
      because: [
        `every sample is a multiple of ${2 ** (bits - values.wordBits)}: the low ${bits - values.wordBits} of ${bits} bits are never used`,
      ],
    };
  }
  const longer = classes.filter((word) => word.laws.length === 0 && word.bits >= bits);
  return {
    answer: null,
    odds: null,
    remaining: probabilities(longer.map((word) => ({ id: word.id, label: word.label, nats: 0 }))),
    because: [`all ${bits} bits of the file are used: the word has ${bits} bits or more, the file cannot show which`],
  };
}

function fromNoise(fitting: readonly WordFit[], fits: readonly WordFit[], classes: readonly WordClass[]): Answer {
  const all = probabilities(
    fits.map((fit) => ({ id: fit.id, label: labelOf(fit.id, classes), nats: -fit.squares / SQUARES_PER_NAT })),
  );
  const odds = oddsOf(all);
  const remaining = all.filter((one) => one.probability > 1e-3 && fitting.some((fit) => fit.id === one.id));
  const best = fits[0];
  const because = [
    `noise under tones of every level: ${labelOf(best.id, classes)} fits with a misfit of ${best.misfit.toFixed(2)}, next ${labelOf(fits[1].id, classes)} with ${fits[1].misfit.toFixed(2)}`,
  ];
  if (classes.some((word) => word.id === best.id && word.laws.length === 0))
    because.push(
      'assumes that the full scale of the programme was recorded within 4 dB of the full scale of the device',
    );
  const isTold = odds >= LEAST_ODDS;
  return { answer: isTold ? best.id : null, odds: isTold ? odds : null, remaining, because };
}

async function rateAnswer(
  source: FrameSource,
  measurement: CaptureMeasurement,
  channel: ChannelMeasurement,
  path: SignalPath,
): Promise<Answer> {
  const rates = sheetRates();
  if (path === 'digital') return fromFrames(measurement, rates);
  const { stopHz, topHz, highEdgeHz } = channel.response;
  const edge = stopHz ?? highEdgeHz.value ?? topHz;
  const isBound = stopHz === null;
  const plausible = rates.filter((rate) => {
    const hz = rateHz(rate);
    return hz * 0.53 >= edge && (isBound || hz * 0.38 <= edge);
  });
  const clipsAt = channel.levels.clippingDb.limit === undefined ? (channel.levels.clippingDb.value ?? 0.6) : 0.6;
  const lines = await rateScores(source, measurement.placement, channel.channel - 1, clipsAt, rates);
  const scored = plausible.map((rate) => ({
    id: rateId(rate),
    label: rateLabel(rate),
    nats: lines.scores.find((one) => one.rate === rate)?.score ?? 0,
  }));
  const because = [
    isBound
      ? `the band reaches at least ${Math.round(edge)} Hz`
      : `the band ends at ${Math.round(edge)} Hz: rates from ${Math.round(edge / 0.53)} to ${Math.round(edge / 0.38)} Hz`,
  ];
  if (path === 'unknown')
    because.push(`if the path was digital, the rate is ${measurement.placement.framesPerSecond.toFixed(1)} Hz`);
  const top = [...scored].sort((a, b) => b.nats - a.nats);
  const isSpoken = top.length > 0 && top[0].nats >= Math.max(12, lines.chance / 2);
  if (!isSpoken) {
    because.push('no folded lines of any rate stand out of the noise');
    return { answer: null, odds: null, remaining: probabilities(scored.map((one) => ({ ...one, nats: 0 }))), because };
  }
  // lines hang together: half their weight
  const remaining = probabilities(scored.map((one) => ({ ...one, nats: one.nats / 2 })));
  const odds = oddsOf(remaining);
  because.push(
    `folded lines of ${top[0].label} stand out: ${top[0].nats.toFixed(0)} nats, next ${(top[1]?.nats ?? 0).toFixed(0)}`,
  );
  const isTold = odds >= LEAST_ODDS;
  return { answer: isTold ? top[0].id : null, odds: isTold ? odds : null, remaining, because };
}

/** On a digital path the frames per second of the programme's own time are the device's rate. */
function fromFrames(measurement: CaptureMeasurement, rates: readonly Rate[]): Answer {
  const hz = measurement.placement.framesPerSecond;
  const near = rates.map((rate) => ({ rate, ppm: (hz / rateHz(rate) - 1) * 1e6 }));
  const fitting = near.filter(({ ppm }) => Math.abs(ppm) <= CLOCK_PPM);
  const because = [`${hz.toFixed(3)} frames in a second of the programme`];
  if (fitting.length === 0) {
    return {
      answer: null,
      odds: null,
      remaining: [],
      because: [...because, 'no rate of the sheets: run off speed, or converted'],
    };
  }
  const [{ rate, ppm }] = fitting;
  const id = rateId(rate);
  return {
    answer: id,
    odds: MOST_ODDS,
    remaining: [{ id, label: rateLabel(rate), probability: 1 }],
    because: [...because, `${ppm.toFixed(1)} ppm from ${rateLabel(rate)}`],
  };
}

function formatsFor(word: Answer, rate: Answer): Candidate[] {
  const chance = (answer: Answer, id: string) => answer.remaining.find((one) => one.id === id)?.probability ?? 0;
  const found = listFormats().flatMap((format) => {
    const byWord = Math.max(...classesOf(format).map((id) => chance(word, id)));
    const byRate = Math.max(...format.signal.rates.value.map((one) => chance(rate, rateId(one))));
    return byWord * byRate > 1e-4 ? [{ id: format.id, label: format.label, nats: Math.log(byWord * byRate) }] : [];
  });
  return probabilities(found);
}

export function rateId(rate: Rate): string {
  return rate.den === 1 ? `${rate.num}` : `${rate.num}/${rate.den}`;
}

function rateLabel(rate: Rate): string {
  return `${rate.den === 1 ? rate.num : rateHz(rate).toFixed(2)} Hz`;
}

function labelOf(id: string, classes: readonly WordClass[]): string {
  return classes.find((word) => word.id === id)?.label ?? id.replace('linear-', '');
}

function squaresOf(fits: readonly WordFit[], id: string): number {
  return fits.find((fit) => fit.id === id)?.squares ?? Number.POSITIVE_INFINITY;
}

/** Shares of probability, likeliest first. */
function probabilities(
  list: readonly { readonly id: string; readonly label: string; readonly nats: number }[],
): Candidate[] {
  const top = Math.max(...list.map((one) => one.nats));
  const weights = list.map((one) => Math.max(Math.exp(one.nats - top), 1 / MOST_ODDS / 10));
  const all = weights.reduce((sum, weight) => sum + weight, 0);
  return list
    .map(({ id, label }, k) => ({ id, label, probability: weights[k] / all }))
    .sort((a, b) => b.probability - a.probability);
}

function oddsOf(ranked: readonly Candidate[]): number {
  const [best, next] = ranked;
  if (!best) return 0;
  return next ? Math.min(MOST_ODDS, best.probability / next.probability) : MOST_ODDS;
}
