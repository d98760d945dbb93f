// Places where a recording changes its level or its brightness for good without a gap: perhaps another recording, perhaps the music. Only ever
// "possible". Not for gaps.
import type { LevelTrack } from './find-gaps.ts';

export interface Change {
  readonly hop: number;
  readonly why: string;
}

/** Half seconds on each side that are compared: 12 s. */
const SIDE = 24;
/** The middles of both sides must differ by three times their spreads and by so much, in dB. */
const LEVEL_DB = 8;
const BRIGHT_DB = 5;

export function findChanges(track: LevelTrack & { readonly brightness: Float32Array }, hopsPerStep: number): Change[] {
  const steps = Math.floor(track.levels.length / hopsPerStep);
  const levels = Float32Array.from({ length: steps }, (_, s) => middleOf(track.levels, s * hopsPerStep, hopsPerStep));
  const changes: Change[] = [];
  for (let s = SIDE; s + SIDE <= steps; s++) {
    const level = changeAt(levels, s, LEVEL_DB);
    const bright = changeAt(track.brightness, s, BRIGHT_DB);
    if (level === 0 && bright === 0) continue;
    const last = changes.at(-1);
    if (last && s * hopsPerStep - last.hop < SIDE * hopsPerStep) continue;
    const parts = [level ? `level ${signed(level)} dB` : '', bright ? `brightness ${signed(bright)} dB` : ''];
    const why = `changes for good: ${parts.filter((text) => text).join(', ')} (12 s before and after)`;
    changes.push({ hop: sharpest(track.levels, s * hopsPerStep, hopsPerStep), why });
  }
  return changes;
}

/** Difference of the sides where it stands out and happens at once, else 0. */
function changeAt(values: Float32Array, at: number, least: number): number {
  const before = values.slice(at - SIDE, at).sort();
  const after = values.slice(at, at + SIDE).sort();
  const [a, b] = [before[SIDE / 2], after[SIDE / 2]];
  const spread = before[(3 * SIDE) / 4] - before[SIDE / 4] + after[(3 * SIDE) / 4] - after[SIDE / 4];
  const change = b - a;
  if (Math.abs(change) < least + 1.5 * spread) return 0;
  // Nothing of either side reaches to the middle between them.
  const half = (a + b) / 2;
  const isClean = change > 0 ? before[SIDE - 2] < half && after[1] > half : before[1] > half && after[SIDE - 2] < half;
  return isClean ? change : 0;
}

function middleOf(levels: Float32Array, from: number, length: number): number {
  return levels.slice(from, from + length).sort()[length >> 1];
}

/** The hop within a half second on either side at which the level steps most. */
function sharpest(levels: Float32Array, at: number, reach: number): number {
  let [best, most] = [at, -1];
  const far = 12;
  for (let i = Math.max(far, at - reach); i < Math.min(levels.length - far, at + reach); i++) {
    let step = 0;
    for (let k = 0; k < far; k++) step += levels[i + k] - levels[i - 1 - k];
    if (Math.abs(step) > most) [best, most] = [i, Math.abs(step)];
  }
  return best;
}

function signed(value: number): string {
  return `${value > 0 ? '+' : ''}${value.toFixed(1)}`;
}
