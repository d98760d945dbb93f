// "What is it really?": word length or law, and sampling rate, from the measurement alone, with odds; or that it cannot be told, with what remains.
// Values decide where the path was digital; else noise against level, band edge and folded lines. Rules: docs/decisions/0015.
import { type FrameSource, rateHz, type StopSignal } from '../../base/index.ts';
import { listFormats } from '../../tape/index.ts';
import type { CaptureMeasurement, ChannelMeasurement } from '../analyse/measure-capture.ts';
import {
  type Answer,
  type Candidate,
  LEAST_ODDS,
  MOST_ODDS,
  oddsOf,
  probabilities,
  type SignalPath,
} from './answer.ts';
import { type DeviceLines, deviceLines, FILE_STEP_DB, strengthInGrownNoise } from './device-lines.ts';
import { classesOf, linearId, type WordClass, wordClasses } from './hypotheses.ts';
import { fitNoise, LEVEL_NOISE, LINEAR_RECORD_DB, OTHER_STEPS, rankWords, type WordFit } from './noise-fit.ts';
import { LEAST_STEP_STRENGTH, strongestStep } from './quiet-steps.ts';
import { rateAnswer, rateId } from './rate-answer.ts';
import { type ValueEvidence, valueEvidence } from './value-evidence.ts';

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

/** Of a linear word whose record level is assumed and not seen. */
const ODDS_ASSUMED = 1000;
/** A misfit above this: the device is none of the hypotheses. */
const MOST_MISFIT = 2;
/** Laws meet their few steps at every level, where the fit is rough; none else comes near them. */
const MOST_LAW_MISFIT = 3.5;
/** Points of a fit hang together: their sum of squares is worth less than theory says. */
const SQUARES_PER_NAT = 4;
/** Words of recorders that write files (common practice, no source). */
const RECORDER_BITS: readonly number[] = [16, 18, 20, 24, 32];

export async function identify(
  source: FrameSource,
  measurement: CaptureMeasurement,
  options: IdentifyOptions = {},
): Promise<Identity> {
  const { placement, reference } = measurement;
  const channel = measurement.channels.find((one) => one.channel === reference + 1) ?? measurement.channels[0];
  const known = wordClasses();
  const values = await valueEvidence(source, placement, reference, known, options.stop);
  const classes = withWord(known, values.wordBits);
  const noise = fitNoise(channel, placement.plan.bits, classes);
  const { path, isSure, because } = pathOf(source, channel, values, rankWords(noise), options.path);
  const lines =
    values.laws.length > 0
      ? undefined
      : await deviceLines(source, measurement, channel, values.wordBits, path === 'digital', options.stop);
  const fits = rankWords(noise, lines && { steps: lines.steps, inGrownNoise: strengthInGrownNoise(lines, channel) });
  const word = wordAnswer(source, channel, values, fits, path, classes, lines);
  const rate = rateAnswer(measurement, lines, path, isSure);
  return { path, pathBecause: because, word, rate, formats: formatsFor(word, rate) };
}

/** The word that the samples keep to must stand the test of the noise too, on a sheet or not. */
function withWord(classes: readonly WordClass[], bits: number): readonly WordClass[] {
  if (bits < 6 || classes.some((word) => word.id === linearId(bits))) return classes;
  return [...classes, { id: linearId(bits), label: `${bits} bits, linear`, bits, laws: [] }];
}

interface Path {
  readonly path: SignalPath;
  /** proven by the samples or told by the user */
  readonly isSure: boolean;
  readonly because: string;
}

function pathOf(
  source: FrameSource,
  channel: ChannelMeasurement,
  values: ValueEvidence,
  fits: readonly WordFit[],
  told: SignalPath | undefined,
): Path {
  if (values.laws.length > 0) {
    return { path: 'digital', isSure: true, because: 'the samples keep to the code book of a companding law' };
  }
  if (told && told !== 'unknown') return { path: told, isSure: true, because: 'as given' };
  const { stopHz, topHz } = channel.response;
  const half = rateHz(source.info.rate) / 2;
  const { isConstant } = channel.idle;
  if (stopHz !== null && stopHz < 0.85 * Math.min(half, topHz)) {
    const band = `the band ends at ${Math.round(stopHz)} Hz, far below half the rate of the file`;
    return isConstant
      ? { path: 'converted', isSure: false, because: `${band}, yet without signal every sample is the same` }
      : { path: 'analogue', isSure: false, because: band };
  }
  // a conversion of rates leaves no short word behind, and ends the band
  if (isConstant && (values.wordBits < source.info.bits || stopHz === null)) {
    const because = 'without signal every sample is the same: no analogue stage adds noise';
    return { path: 'digital', isSure: false, because };
  }
  if (isNoRecordersWord(source, values, fits)) {
    const because = `the samples keep to ${values.wordBits} bits, a word that recorders of files do not have: it is the device's`;
    return { path: 'digital', isSure: false, because };
  }
  return { path: 'unknown', isSure: false, because: 'nothing shows what lay between the device and the file' };
}

/** A converter of the recorder would have left its own word; this one agrees with the noise as well. */
function isNoRecordersWord({ info }: FrameSource, { wordBits }: ValueEvidence, fits: readonly WordFit[]): boolean {
  const lattice = fits.find((fit) => fit.id === linearId(wordBits));
  return wordBits < info.bits && !RECORDER_BITS.includes(wordBits) && (lattice?.misfit ?? Infinity) <= MOST_MISFIT;
}

function wordAnswer(
  source: FrameSource,
  channel: ChannelMeasurement,
  values: ValueEvidence,
  fits: readonly WordFit[],
  path: SignalPath,
  classes: readonly WordClass[],
  lines: DeviceLines | undefined,
): Answer {
  if (values.laws.length > 0) return fromLaws(values, fits, classes);
  const best = fits[0];
  const isLaw = (id: string) => classes.some((word) => word.id === id && word.laws.length > 0);
  const fitting = fits.filter((fit) => fit.misfit <= (isLaw(fit.id) ? MOST_LAW_MISFIT : MOST_MISFIT));
  const lattice = fits.find((fit) => fit.id === linearId(values.wordBits));
  // on a digital path the unused bits are the device's; a coarser answer of the noise would still be the better one
  if (path === 'digital' && values.wordBits > 0 && lattice !== undefined && lattice.misfit <= MOST_MISFIT) {
    return fromLattice(source, values, classes);
  }
  // what fits best must fit: a rival that fits worse is no answer
  if (best === undefined || !fitting.includes(best)) {
    return {
      answer: null,
      odds: null,
      remaining: [],
      because: [`no word length or law of the sheets explains the noise (misfit ${best?.misfit.toFixed(1) ?? 'none'})`],
    };
  }
  const isLevelKnown = channel.levels.clippingDb.limit === undefined;
  const answer = fromNoise(fitting, fits, classes, isLevelKnown);
  const because = [...answer.because, ...stepsSeen(lines)];
  // a law's noise is no recorder's
  if (path === 'digital' || isLaw(best.id) || !isAsFineAsFile(best, values, channel)) return { ...answer, because };
  return { ...answer, answer: null, odds: null, because: [...because, 'a recorder of such words would have added it'] };
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

function fromNoise(
  fitting: readonly WordFit[],
  fits: readonly WordFit[],
  classes: readonly WordClass[],
  isLevelKnown: boolean,
): Answer {
  const all = probabilities(
    fits.map((fit) => ({ id: fit.id, label: labelOf(fit.id, classes), nats: -fit.squares / SQUARES_PER_NAT })),
  );
  const remaining = all.filter((one) => one.probability > 1e-3 && fitting.some((fit) => fit.id === one.id));
  const [best, next] = fits;
  const because = [
    `noise under tones of every level: ${labelOf(best.id, classes)} fits with a misfit of ${best.misfit.toFixed(2)}, next ${labelOf(next.id, classes)} with ${next.misfit.toFixed(2)}`,
  ];
  const isLinear = classes.some((word) => word.id === best.id && word.laws.length === 0);
  if (isLinear && !isLevelKnown) {
    because.push(
      `assumes that the full scale of the programme was recorded within ${LINEAR_RECORD_DB.to} dB of the full scale of the device`,
    );
  }
  const odds = Math.min(oddsOf(all), isLinear && !isLevelKnown ? ODDS_ASSUMED : MOST_ODDS);
  const isTold = odds >= LEAST_ODDS && best.id !== LEVEL_NOISE && best.id !== OTHER_STEPS;
  return { answer: isTold ? best.id : null, odds: isTold ? odds : null, remaining, because };
}

/** Steps that come out no coarser than those of the file. */
function isAsFineAsFile(fit: WordFit, values: ValueEvidence, channel: ChannelMeasurement): boolean {
  const stepDb = 20 * Math.log10(2) * (1 - Number(fit.id.replace('linear-', ''))) - fit.recordDb;
  const fileDb = 20 * Math.log10(2) * (1 - values.wordBits);
  return stepDb + (channel.levels.gainDb.value ?? 0) <= fileDb + FILE_STEP_DB;
}

function stepsSeen(lines: DeviceLines | undefined): string[] {
  if (lines?.areFileSteps) return ['the steps seen are as fine as those of the file: they may be those of a recorder'];
  const { stepDb, strength } = lines ? strongestStep(lines.steps) : { stepDb: 0, strength: 0 };
  if (strength < LEAST_STEP_STRENGTH) return [];
  return [
    `harmonics of quiet tones show steps of ${stepDb.toFixed(1)} dB against the full scale of the programme: strength ${strength.toFixed(0)}`,
  ];
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

function labelOf(id: string, classes: readonly WordClass[]): string {
  if (id === LEVEL_NOISE) return 'noise in proportion to the level, no law';
  if (id === OTHER_STEPS) return 'steps of a size that no sheet has';
  return classes.find((word) => word.id === id)?.label ?? `${id.replace('linear-', '')} bits, linear`;
}

function squaresOf(fits: readonly WordFit[], id: string): number {
  return fits.find((fit) => fit.id === id)?.squares ?? Number.POSITIVE_INFINITY;
}
