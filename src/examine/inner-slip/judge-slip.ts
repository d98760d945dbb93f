// Second look at one joint in all channels together: whether frames were dropped or doubled there. Both sides must go on
// smoothly, the joint as it is must not fit, and it must fit once frames are bridged, or the doubled ones taken out. Channels
// of one capture slip together, so their evidence adds up, and one that contradicts ends the claim. Pure.
import { predictionResidual } from '../../signal/index.ts';
import { type JointModel, modelJoint } from '../click/joint-model.ts';
import { WIDEST } from '../click/judge-click.ts';
import { copiesAt, isCopy } from './exact-copies.ts';

/** Most frames dropped that are looked for: beyond it a prediction knows nothing of the other side. */
export const LONGEST_SLIP = 64;
/** Most frames played twice: a copy is exact, however long. */
export const LONGEST_COPY = 512;
/** Where the first frame after a joint may lie around the peak of the fourth difference. */
export const JOINT_REACH = 3;

export interface Slip {
  /** index in the samples given of the first frame after the joint; for doubled frames the first of the copy */
  readonly at: number;
  readonly cause: 'dropped' | 'duplicated';
  /** frames dropped or doubled; null where the samples show that some are missing, not how many */
  readonly frames: number | null;
  /** fewest and most frames that explain the joint about as well */
  readonly fewest: number;
  readonly most: number;
  /** mean residual energy of the joint as it is and explained, in the channel that shows it best; the sound around is 1 */
  readonly misfit: number;
  readonly misfitExplained: number;
  /** natural logarithm of the chance that the doubled samples are equal by themselves; 0 for dropped frames */
  readonly logChance: number;
  /** indices of channels that sound there */
  readonly channels: readonly number[];
}

/** Both sides belong together: the mean energy of a bridge is near that of the sound around. */
const BELONGS = 2.5;
/** They do not, as they stand. */
const STANDS_OUT = 50;
/** An explanation must be better than few outlying samples by so much: 32 equations make that odds of e^24. */
const BETTER = 1.5;
const LEAST_MISFIT = 0.5;
/** Samples in a row on a straight line, where the usual bend is larger than that, are no sound. */
const DRAWN = 4;
const DRAWN_USUAL = 6;
/** Gaps whose misfits, summed over channels, differ by less are alike: 32 equations make that odds of 1 to 10 million. */
const ALIKE = 1;
/** A length is named when at most so many lengths are alike. */
const MOST_ALIKE = 4;
/** Where the same slip would have to show: misfits of sound with as many frames cut out nearby … */
const ELSEWHERE = [-220, -150, -90, 90, 150];
/** … and are these misfits, a slip would have been seen. */
const SHOWS = 20;

interface Channel {
  readonly index: number;
  readonly samples: Int32Array;
  readonly model: JointModel;
}

/** `planes` are the same frames of every channel, `steps` their quantising steps, `at` the index of the fourth difference's peak. */
export function judgeSlip(planes: readonly Int32Array[], steps: readonly number[], at: number): Slip | undefined {
  const channels = planes.flatMap((samples, index): Channel[] => {
    const model = modelJoint(samples, at, steps[index], LONGEST_SLIP);
    return model ? [{ index, samples, model }] : [];
  });
  const shown = channels.map((channel) => ({ channel, misfit: mostMisfit(channel.model, at) }));
  const best = shown.reduce<(typeof shown)[number] | undefined>(
    (most, one) => (most && most.misfit >= one.misfit ? most : one),
    undefined,
  );
  if (!best || best.misfit < STANDS_OUT || isDrawn(best.channel, at)) return undefined;
  const outlying = bestWithoutFew(best.channel.model, at);
  // What few outlying samples explain is a click, whatever else might: told before the dear search for a gap.
  if (outlying < BETTER + LEAST_MISFIT) return undefined;
  const slip = doubled(channels, best.channel, at) ?? dropped(channels, best.channel, at);
  return slip && outlying >= BETTER + Math.max(LEAST_MISFIT, slip.misfitExplained) ? slip : undefined;
}

/** The joint as it is, from where most of the break is seen. */
function mostMisfit(model: JointModel, at: number): number {
  let most = 0;
  for (let place = at - JOINT_REACH; place <= at + JOINT_REACH; place++)
    most = Math.max(most, model.misfit(place, place, 0));
  return most;
}

/** Least misfit with up to three samples taken as outlying. */
function bestWithoutFew({ misfit }: JointModel, at: number): number {
  let best = Number.POSITIVE_INFINITY;
  for (let start = at - JOINT_REACH - WIDEST; start <= at + JOINT_REACH; start++) {
    for (let width = 1; width <= WIDEST; width++) best = Math.min(best, misfit(start, start + width, width));
  }
  return best;
}

/** Rows of samples on a straight line in sound that bends: concealment, which other detectors judge. */
function isDrawn({ model: { x } }: Channel, at: number): boolean {
  const bends = Float64Array.from({ length: 2 * LONGEST_SLIP }, (_, k) => {
    const i = at - LONGEST_SLIP + k;
    return Math.abs(2 * x[i] - x[i - 1] - x[i + 1]);
  });
  const usual = bends.toSorted()[LONGEST_SLIP];
  let row = 0;
  for (const bend of bends) {
    row = bend <= 1 ? row + 1 : 0;
    if (row >= DRAWN && usual > DRAWN_USUAL) return true;
  }
  return false;
}

/** Frames played twice: an exact copy in every sounding channel, without which both sides belong together. */
function doubled(channels: readonly Channel[], shows: Channel, at: number): Slip | undefined {
  for (const copy of copiesAt(shows.samples, at, LONGEST_COPY, JOINT_REACH)) {
    const { start, length } = copy;
    const misfit = shows.model.misfit(start, start, 0);
    if (misfit < STANDS_OUT) continue;
    const explained = channels.map(({ model }) => model.misfit(start, start + length, 0));
    if (Math.max(...explained) > BELONGS) continue;
    if (!channels.every(({ samples }) => isCopy(samples, start, length))) continue;
    return {
      at: start,
      cause: 'duplicated',
      frames: length,
      fewest: length,
      most: length,
      misfit,
      misfitExplained: explained[channels.indexOf(shows)],
      logChance: logChanceOf(channels, length),
      channels: channels.map(({ index }) => index),
    };
  }
  return undefined;
}

/** Equal samples by chance where a joint is: what the prediction misses bounds how well one value can be met. */
function logChanceOf(channels: readonly Channel[], length: number): number {
  let sum = 0;
  for (const [k, { samples, model }] of channels.entries()) {
    if (channels.slice(0, k).some((other) => isSameSound(other.samples, samples))) continue;
    sum += length * Math.log(Math.min(1, 0.4 / Math.sqrt(model.power)));
  }
  return sum;
}

/** The same channel twice, or upside down, is no second witness. */
function isSameSound(a: Int32Array, b: Int32Array): boolean {
  let [same, inverse] = [0, 0];
  for (let i = 0; i < a.length; i++) {
    if (a[i] === b[i]) same++;
    if (a[i] === -b[i] || a[i] === ~b[i]) inverse++;
  }
  return 2 * Math.max(same, inverse) > a.length;
}

/** Frames missing: of all places and lengths the one by which all channels together are carried over best. */
function dropped(channels: readonly Channel[], shows: Channel, at: number): Slip | undefined {
  // The channel that shows the break is the likeliest not to be carried over.
  const inTurn = [shows, ...channels.filter((channel) => channel !== shows)];
  if (!areCarriedOver(inTurn, at - JOINT_REACH)) return undefined;
  let best: { place: number; own: Float64Array[]; sums: Float64Array; k: number } | undefined;
  for (let place = at - JOINT_REACH; place <= at + JOINT_REACH; place++) {
    const own = channels.map(({ model }) => misfitsByGap(model, at - JOINT_REACH, place));
    const sums = own[0].map((_, k) => own.reduce((sum, misfits) => sum + misfits[k], 0));
    const k = sums.indexOf(Math.min(...sums));
    if (!best || sums[k] < best.sums[best.k]) best = { place, own, sums, k };
  }
  if (!best) return undefined;
  const { place, own, sums, k } = best;
  if (own.some((misfits) => misfits[k] > BELONGS)) return undefined;
  if (channels.some(({ model }) => contradicts(model, place, k + 1))) return undefined;
  const alike = Array.from(sums.keys()).filter((i) => sums[i] <= sums[k] + ALIKE);
  return {
    at: place,
    cause: 'dropped',
    // Where the longest gap fits, longer ones may.
    frames: alike.length <= MOST_ALIKE && alike[alike.length - 1] + 1 < LONGEST_SLIP ? k + 1 : null,
    fewest: alike[0] + 1,
    most: alike[alike.length - 1] + 1,
    misfit: shows.model.misfit(place, place, 0),
    misfitExplained: own[channels.indexOf(shows)][k],
    logChance: 0,
    channels: channels.map(({ index }) => index),
  };
}

/** Some place and length carries each channel over: what the best one must do, and mostly one channel alone tells that none does. */
function areCarriedOver(channels: readonly Channel[], from: number): boolean {
  let fitting: (readonly number[])[] = Array.from({ length: 2 * JOINT_REACH + 1 }, () => GAPS);
  for (const { model } of channels) {
    fitting = fitting.map((gaps, p) => {
      const misfitOf = misfitByGap(model, from, from + p);
      return gaps.filter((gap) => misfitOf(gap) <= BELONGS);
    });
    if (fitting.every(({ length }) => length === 0)) return false;
  }
  return true;
}

const GAPS: readonly number[] = Array.from({ length: LONGEST_SLIP }, (_, k) => k + 1);

function misfitsByGap(model: JointModel, from: number, place: number): Float64Array {
  return Float64Array.from(GAPS, misfitByGap(model, from, place));
}

/** Mean energy of the residuals from frame `from` on, if so many frames are missing before frame `place`. */
function misfitByGap(
  { x, predictor, power, misfit }: JointModel,
  from: number,
  place: number,
): (gap: number) => number {
  let before = 0;
  for (const e of predictionResidual(x, predictor, from, place)) before += (e * e) / predictor.length / power;
  return (gap) => before + misfit(place, place, gap);
}

/** A channel goes on smoothly though as many frames cut out of it nearby would mostly show. */
function contradicts({ x, misfit }: JointModel, at: number, frames: number): boolean {
  if (misfit(at, at, 0) > BELONGS) return false;
  const shown = ELSEWHERE.filter((away) => {
    const place = at + away;
    return place > 2 * LONGEST_SLIP && place + 2 * LONGEST_SLIP < x.length && misfit(place, place + frames, 0) > SHOWS;
  });
  return 2 * shown.length > ELSEWHERE.length;
}
