// What a format can be: every word length and law of the format sheets, in classes that a measurement could ever tell apart, and every rate.
import { type Rate, rateHz, type SegmentLaw, sameRate } from '../../base/index.ts';
import { findLaw, listFormats, type TapeFormat } from '../../tape/index.ts';
import {
  type Converter,
  ditheredCurve,
  lawQuantiser,
  lawStep,
  linearQuantiser,
  type NoiseCurve,
  noiseCurve,
} from './quantising-noise.ts';

export interface WordClass {
  /** `linear-16`, or the id of the law its variants belong to */
  readonly id: string;
  readonly label: string;
  /** of the linear word */
  readonly bits: number;
  /** members that differ only in mirroring or expansion; empty for linear words */
  readonly laws: readonly SegmentLaw[];
}

export interface WordModel {
  readonly id: string;
  readonly converter: Converter;
  readonly curve: NoiseCurve;
  /** dB by which the curve's converters differ at a level: where they do, less is asked of the fit */
  readonly doubtDb: (levelDb: number) => number;
}

/** Words no sheet has, so that a device outside the sheets is not pressed into one. */
const MORE_LINEAR_BITS: readonly number[] = [8, 10, 12];
/** Noise ahead of the converter in steps of the linear word; from half a step on it is `dithered`. */
const INPUT_NOISE: readonly number[] = [0, 0.06, 0.2];
const VARIANT = /-(sign-magnitude|mid-step)/g;

export function wordClasses(formats: readonly TapeFormat[] = listFormats()): WordClass[] {
  const bits = new Set(MORE_LINEAR_BITS);
  const laws = new Map<string, SegmentLaw[]>();
  for (const { signal } of formats) {
    for (const id of [signal.law.value, ...signal.rivalLaws]) {
      if (id === 'linear') bits.add(signal.linearBits.value);
      else {
        const family = lawClassId(id);
        const list = laws.get(family) ?? [];
        if (!list.some((law) => law.id === findLaw(id).id)) list.push(findLaw(id));
        laws.set(family, list);
      }
    }
  }
  const linear = [...bits].sort((a, b) => a - b);
  return [
    ...linear.map((n) => ({ id: linearId(n), label: `${n} bits, linear`, bits: n, laws: [] })),
    ...[...laws].map(([id, list]) => ({ id, label: list[0].label, bits: list[0].linearBits, laws: list })),
  ];
}

export function linearId(bits: number): string {
  return `linear-${bits}`;
}

/** Mirroring and expansion change a law's noise little: they share a class. */
export function lawClassId(lawId: string): string {
  return lawId.replace(VARIANT, '');
}

/** The class that a format's sheet asks for first, and those it allows. */
export function classesOf(format: TapeFormat): readonly string[] {
  const { law, rivalLaws, linearBits } = format.signal;
  const all = [law.value, ...rivalLaws].map((id) => (id === 'linear' ? linearId(linearBits.value) : lawClassId(id)));
  return [...new Set(all)];
}

/** Against the full scale of the device, dB. */
export function finestStepDb(word: WordClass): number {
  return 20 * Math.log10(word.laws.length === 0 ? 2 ** (1 - word.bits) : lawStep(word.laws[0])(0));
}

/** Noise curves of one class; costly enough to be made once per capture. */
export function wordModels(word: WordClass): WordModel[] {
  const quantisers = (converter: 'round' | 'truncate') =>
    word.laws.length === 0
      ? [linearQuantiser(word.bits, converter)]
      : word.laws.map((law) => lawQuantiser(law, converter));
  const dithered = ditheredCurve(word.laws.length === 0 ? () => 2 ** (1 - word.bits) : lawStep(word.laws[0]));
  const hard = (['round', 'truncate'] as const).flatMap((converter) =>
    quantisers(converter).flatMap((quantise) =>
      INPUT_NOISE.map((noise) => ({
        id: word.id,
        converter,
        curve: noiseCurve(quantise, noise * 2 ** (1 - word.bits)),
      })),
    ),
  );
  const away = (curve: NoiseCurve) => (levelDb: number) =>
    Math.min(12, Math.abs(10 * Math.log10(curve(levelDb) / dithered(levelDb))));
  return [
    ...hard.map((one) => ({ ...one, doubtDb: away(one.curve) })),
    { id: word.id, converter: 'dithered', curve: dithered, doubtDb: () => 0 },
  ];
}

/** Every rate of the sheets, ascending, each once. */
export function sheetRates(formats: readonly TapeFormat[] = listFormats()): Rate[] {
  const found: Rate[] = [];
  for (const rate of formats.flatMap((format) => format.signal.rates.value)) {
    if (!found.some((one) => sameRate(one, rate))) found.push(rate);
  }
  return found.sort((a, b) => rateHz(a) - rateHz(b));
}
