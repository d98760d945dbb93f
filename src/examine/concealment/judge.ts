// Second look at one candidate: which lattice explains it best, and how likely the same row would be by chance, taken
// from the sound around it. Pure; the caller cuts the context. Chance is deliberately over-stated where in doubt.
import { judgeLattice, phasesOf } from './judge-lattice.ts';
import { judgeLine, rowsOf } from './judge-line.ts';
import { type Context, FEWEST_VALUES, type Judgement, type Place, type Stretch } from './judged-stretch.ts';
import { LocalValues } from './local-step.ts';
import type { HitCounts, MarkedSound } from './marked-sound.ts';

/** Explanations of one candidate: a lattice of its period, or each unbroken row of at least two hits in it. `enough` is the
 * logarithm of the chance that still counts; rows that cannot reach it are not weighed further. */
export function judge(sound: MarkedSound, candidate: Place, period: number, enough: number): Judgement[] {
  const place = period === 1 ? wholeRow(sound, candidate) : candidate;
  const around = sound.countAround(place.begin, place.end, place.from, place.to);
  // Nearly all candidates end here: smooth sound raises them on every lattice.
  const rows = period === 1 ? rowsOf(sound, place, around, enough) : [];
  const isOn = period === 1 ? undefined : phasesOf(sound, place, period, around, enough);
  if (rows.length === 0 && !isOn) return [];
  const { samples, marks, step, restStep } = sound;
  const { begin, end } = place;
  const stretch = {
    samples: samples.subarray(begin, end),
    marks: marks.subarray(begin, end),
    from: place.from - begin,
    to: place.to - begin,
    step,
    restStep,
  };
  const context = contextOf(stretch, around);
  const found = isOn
    ? [judgeLattice(stretch, sound.rule, context, isOn, enough)]
    : rows.map(({ from, to }) =>
        judgeLine(stretch, sound.rule, { from: from - begin, to: to - begin }, context, enough),
      );
  return found
    .filter((judgement) => judgement !== undefined)
    .filter(({ logChance }) => logChance <= enough)
    .map((judgement) => ({ ...judgement, from: judgement.from + begin, to: judgement.to + begin }));
}

/** The first look does not hear the ends of a row that lie in soft cells: they are where the hits end, as far as the surroundings reach. */
function wholeRow({ marks }: MarkedSound, { from, to, begin, end }: Place): Place {
  let [first, last] = [from, to];
  while (first > begin + 2 && marks[first] === 1 && marks[first - 1] === 1) first--;
  while (last < end - 2 && marks[last - 1] === 1 && marks[last] === 1) last++;
  return { from: first, to: last, begin, end };
}

/** What the sound outside the candidate is like. */
function contextOf({ samples, from, to, step }: Stretch, around: HitCounts): Context {
  let local: LocalValues | undefined;
  return {
    ...around,
    isMonotonous: isMonotonous({ samples, from, to }),
    // Sorting the surroundings costs as much as a prediction: only for rows that are rare enough otherwise.
    local: () => {
      local ??= new LocalValues(samples, from, to, step);
      return local;
    },
  };
}

/** Few different values: a made waveform, in which rows prove nothing. */
function isMonotonous({ samples, from, to }: Pick<Stretch, 'samples' | 'from' | 'to'>): boolean {
  if (samples.length - (to - from) <= FEWEST_VALUES) return false;
  const values = new Set<number>();
  for (let i = 1; i < samples.length - 1 && values.size < FEWEST_VALUES; i++) {
    if (i < from || i >= to) values.add(samples[i]);
  }
  return values.size < FEWEST_VALUES;
}
