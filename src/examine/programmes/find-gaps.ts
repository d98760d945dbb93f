// Gaps between programmes in a track of levels: stretches that are even, as noise or digital silence is and music is not, and far below the sound on
// both sides. Where in a gap the next recording begins is told by the silence's end or a step in the noise. Not for gaps in single channels.

export interface Gap {
  /** hops */
  readonly start: number;
  readonly end: number;
  /** hop at which the next recording begins, as far as the gap tells */
  readonly boundary: number;
  readonly kind: 'digital silence' | 'a step in the noise' | 'even noise';
  /** hops of digital silence, all of it */
  readonly silentHops: number;
  /** highest level of its even stretches, and that of the quieter of both sides, dB */
  readonly levelDb: number;
  readonly besideDb: number;
}

export interface LevelTrack {
  readonly levels: Float32Array;
  readonly constant: Uint8Array;
}

/** Hops looked at together: 0.24 s. */
const WINDOW = 60;
/** Spread of the levels of noise in hops of 4 ms is 0.5 dB, of rumble and hum up to 1.6; of decaying or moving sound more. */
const MOST_SPREAD_DB = 1.6;
/** A stretch goes on while the level stays below its mean and so much: three spreads. */
const ABOVE_DB = 5;
/** Clicks of the recorder between two stretches of one gap: 60 ms; what is as quiet as a gap, and no sound: 3 s. */
const BRIDGE = 15;
const QUIET_BRIDGE = 750;
/** Hops to both sides whose louder quarter is the sound beside a gap: 10 s. */
const BESIDE = 2500;
/** The sound must be so far above the gap on both sides. */
const FAR_DB = 20;
/** A recorder's start changes the noise by so much within some hops. */
const STEP_DB = 3;
/** Digital silence of 20 ms is no accident of sound. */
const SILENT_HOPS = 5;

interface Stretch {
  start: number;
  end: number;
  level: number;
  isSilent: boolean;
}

/** In order. Gaps at the very beginning or end are none: they are head and tail. `fewest`: hops a gap lasts at least. */
export function findGaps(track: LevelTrack, fewest: number): Gap[] {
  const gaps: Gap[] = [];
  let group: Stretch[] = [];
  const far = stretchesOf(track).filter((stretch) => isFarBelow(track.levels, stretch));
  for (const stretch of [...far, undefined]) {
    const last = group.at(-1);
    if (last && !(stretch && isOneGap(track.levels, group[0], last, stretch))) {
      const gap = gapOf(track, group, fewest);
      if (gap) gaps.push(gap);
      group = [];
    }
    if (stretch) group.push(stretch);
  }
  return gaps;
}

function isOneGap(levels: Float32Array, first: Stretch, last: Stretch, next: Stretch): boolean {
  const between = next.start - last.end;
  if (between <= BRIDGE || between > QUIET_BRIDGE) return between <= BRIDGE;
  const most = levels.subarray(last.end, next.start).reduce((a, b) => Math.max(a, b));
  const beside = Math.min(
    loudness(levels, first.start - BESIDE, first.start),
    loudness(levels, next.end, next.end + BESIDE),
  );
  return most <= beside - FAR_DB;
}

/** Even stretches, sorted, without overlap. */
function stretchesOf({ levels, constant }: LevelTrack): Stretch[] {
  const silent = silentHopsOf(constant);
  const stretches: Stretch[] = [];
  let reached = 0;
  for (let at = 0; at < levels.length; ) {
    const stretch = silent[at] === 1 ? silentFrom(silent, at) : evenFrom(levels, silent, at, reached);
    if (stretch) {
      stretches.push(stretch);
      reached = stretch.end;
    }
    at = stretch ? stretch.end : nextStart(silent, at);
  }
  return stretches;
}

/** Hops in rows of constant ones; a lone one may be a whisper of noise. */
function silentHopsOf(constant: Uint8Array): Uint8Array {
  const silent = new Uint8Array(constant.length);
  for (let at = 0; at < constant.length; at++) {
    let end = at;
    while (end < constant.length && constant[end] === 1) end++;
    if (end - at >= SILENT_HOPS) silent.fill(1, at, end);
    at = Math.max(at, end);
  }
  return silent;
}

/** A quarter of a window on, or where a silence begins before that. */
function nextStart(silent: Uint8Array, at: number): number {
  const next = silent.subarray(at + 1, at + WINDOW / 4).indexOf(1);
  return at + (next < 0 ? WINDOW / 4 : 1 + next);
}

function silentFrom(silent: Uint8Array, start: number): Stretch {
  const length = silent.subarray(start).indexOf(0);
  const end = length < 0 ? silent.length : start + length;
  return { start, end, level: Number.NEGATIVE_INFINITY, isSilent: true };
}

function evenFrom(levels: Float32Array, silent: Uint8Array, at: number, reached: number): Stretch | undefined {
  // Right behind a stretch what is left of the gap may be short.
  const window = at === reached && at > 0 ? WINDOW / 4 : WINDOW;
  if (at + window > levels.length) return undefined;
  let [sum, squares] = [0, 0];
  for (let i = at; i < at + window; i++) {
    if (silent[i] === 1) return undefined;
    sum += levels[i];
    squares += levels[i] ** 2;
  }
  const level = sum / window;
  if (Math.sqrt(Math.max(0, squares / window - level ** 2)) > MOST_SPREAD_DB) return undefined;
  const isWithin = (i: number) => levels[i] <= level + ABOVE_DB && levels[i] >= level - 3 * ABOVE_DB && silent[i] === 0;
  // A single whisper of the noise that is louder ends nothing.
  const goesOn = (i: number, step: 1 | -1) =>
    isWithin(i) || (levels[i] <= level + 2 * ABOVE_DB && isWithin(i + step) && isWithin(i + 2 * step));
  let [start, end] = [at, at + window];
  while (start > reached && goesOn(start - 1, -1)) start--;
  while (end < levels.length && goesOn(end, 1)) end++;
  return { start, end, level, isSilent: false };
}

/** Even stretches of the music itself are not. At an end of the recording the one side that is there decides. */
function isFarBelow(levels: Float32Array, { start, end, level }: Stretch): boolean {
  const isFar = (from: number, to: number) => loudness(levels, from, to) >= level + FAR_DB;
  const isHead = start === 0;
  const isTail = end >= levels.length;
  return !(isHead && isTail) && (isHead || isFar(start - BESIDE, start)) && (isTail || isFar(end, end + BESIDE));
}

function gapOf(track: LevelTrack, group: readonly Stretch[], fewest: number): Gap | undefined {
  const { levels } = track;
  const [start, end] = [group[0].start, group[group.length - 1].end];
  if (start === 0 || end >= levels.length) return undefined;
  const silentHops = group.reduce((sum, one) => sum + (one.isSilent ? one.end - one.start : 0), 0);
  if (end - start < fewest && silentHops < SILENT_HOPS) return undefined;
  const levelDb = Math.max(...group.map(({ level }) => level));
  const besideDb = Math.min(loudness(levels, start - BESIDE, start), loudness(levels, end, end + BESIDE));
  if (besideDb < levelDb + FAR_DB) return undefined;
  return { start, end, ...boundaryOf(levels, group), silentHops, levelDb, besideDb };
}

/** A quarter of the hops are louder. */
function loudness(levels: Float32Array, from: number, to: number): number {
  const own = levels.slice(Math.max(0, from), Math.min(levels.length, to)).sort();
  return own[Math.floor(0.75 * own.length)];
}

function boundaryOf(levels: Float32Array, group: readonly Stretch[]): Pick<Gap, 'boundary' | 'kind'> {
  const silent = group.filter(({ isSilent }) => isSilent).at(-1);
  if (silent) return { boundary: silent.end, kind: 'digital silence' };
  const { start, end, level } = group[group.length - 1];
  const step = lastStep(levels, group[0].start, end);
  if (step !== undefined) return { boundary: step, kind: 'a step in the noise' };
  let boundary = end;
  while (boundary > start && levels[boundary - 1] > level + 3) boundary--;
  return { boundary, kind: 'even noise' };
}

/** Hop of the last abrupt change of the noise inside the gap; a fade changes less in so few hops. */
function lastStep(levels: Float32Array, start: number, end: number): number | undefined {
  const [near, far] = [2, 25];
  for (let at = end - far; at >= start + far; at--) {
    if (!isStep(levels, at, near, far)) continue;
    // The sharpest place of the neighbourhood.
    let best = at;
    for (let i = at; i > at - far && i > start + far; i--) {
      if (stepAt(levels, i, 0, far) > stepAt(levels, best, 0, far)) best = i;
    }
    return best;
  }
  return undefined;
}

function isStep(levels: Float32Array, at: number, near: number, far: number): boolean {
  if (stepAt(levels, at, near, far) < STEP_DB) return false;
  // A fade moves within either side as well.
  const within = Math.max(
    Math.abs(meanOf(levels, at - far, at - far / 2) - meanOf(levels, at - far / 2, at - near)),
    Math.abs(meanOf(levels, at + near, at + far / 2) - meanOf(levels, at + far / 2, at + far)),
  );
  return within < STEP_DB / 3;
}

function stepAt(levels: Float32Array, at: number, near: number, far: number): number {
  return Math.abs(meanOf(levels, at + near, at + far) - meanOf(levels, at - far, at - near));
}

function meanOf(levels: Float32Array, from: number, to: number): number {
  let sum = 0;
  for (let i = Math.floor(from); i < Math.floor(to); i++) sum += levels[i];
  return sum / (Math.floor(to) - Math.floor(from));
}
