// The pilot: three chirps whose period (not frequency) changes evenly. Such a chirp played too fast or too slow is the same chirp at
// another moment, so it is found without knowing the true rate; up and down move opposite ways, which tells the rate.
// Not for searching (locate/).

/** Hz; within every format's band */
const LOW_HZ = 500;
const HIGH_HZ = 8000;
export const CHIRP_SECONDS = 0.4;
/** between the first two chirps, always */
const GAP_SECONDS = 0.1;
const LEAD_SECONDS = 0.1;
const FADE_SECONDS = 0.02;
export const PILOT_SECONDS = 2.2;
export const PILOT_DB = -12;
/** change of the period per second */
const BEND = (1 / LOW_HZ - 1 / HIGH_HZ) / CHIRP_SECONDS;
/** gaps between the second and the third chirp are told apart when they differ by this much */
const CODE_STEP = 0.02;

/** How much later than expected (programme seconds per unit of the rate's error) a stretched chirp seems to begin. */
export const UP_SHIFT_SECONDS = 1 / (LOW_HZ * BEND);
export const DOWN_SHIFT_SECONDS = -1 / (HIGH_HZ * BEND);

export type PilotName = 'start' | 'middle' | 'end';

/** The gap before the third chirp says which pilot it is, and the rate (start) and word length (end) of the programme. */
export function pilotCodes(rateCode: number, bitsCode: number): Readonly<Record<PilotName, number>> {
  return { start: 0.1 + CODE_STEP * rateCode, middle: 0.26, end: 0.32 + CODE_STEP * bitsCode };
}

/** What a measured gap says; undefined where it is none of ours. */
export function readPilotCode(gapSeconds: number): { readonly name: PilotName; readonly code: number } | undefined {
  const near = (from: number, count: number) => {
    const code = Math.round((gapSeconds - from) / CODE_STEP);
    const isNear = Math.abs(gapSeconds - from - CODE_STEP * code) < 0.4 * CODE_STEP;
    return isNear && code >= 0 && code < count ? code : -1;
  };
  for (const [name, from, count] of [
    ['start', 0.1, 5],
    ['middle', 0.26, 1],
    ['end', 0.32, 3],
  ] as const) {
    const code = near(from, count);
    if (code >= 0) return { name, code };
  }
  return undefined;
}

/** Start of each chirp within the pilot's section, in seconds. */
export function chirpStarts(codeSeconds: number): readonly [number, number, number] {
  const second = LEAD_SECONDS + CHIRP_SECONDS + GAP_SECONDS;
  return [LEAD_SECONDS, second, second + CHIRP_SECONDS + codeSeconds];
}

/** The pilot's wave at a time within its section, peak 1. */
export function pilotAt(seconds: number, codeSeconds: number): number {
  const [first, second, third] = chirpStarts(codeSeconds);
  if (seconds < second) return chirpAt(seconds - first, 'up', 0);
  return seconds < third ? chirpAt(seconds - second, 'down', 0) : chirpAt(seconds - third, 'up', 0);
}

/** One chirp, `turn` radians later in phase; zero outside [0, CHIRP_SECONDS). */
export function chirpAt(seconds: number, way: 'up' | 'down', turn: number): number {
  if (seconds < 0 || seconds >= CHIRP_SECONDS) return 0;
  const phase =
    way === 'up' ? -Math.log(1 - BEND * LOW_HZ * seconds) / BEND : Math.log(1 + BEND * HIGH_HZ * seconds) / BEND;
  return fadeAt(seconds, CHIRP_SECONDS, FADE_SECONDS) * Math.sin(2 * Math.PI * phase + turn);
}

/** Raised cosine at both ends of a stretch. */
export function fadeAt(seconds: number, length: number, fadeSeconds: number): number {
  const edge = Math.min(seconds, length - seconds);
  if (edge <= 0) return 0;
  return edge >= fadeSeconds ? 1 : 0.5 - 0.5 * Math.cos((Math.PI * edge) / fadeSeconds);
}
