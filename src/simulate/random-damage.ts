// Losses by chance and by hand: single errors, bursts, dropouts, a torn spot. Deterministic by the random stream passed in.
// Not for the patterns of heads and tracks (format-damage.ts).
import type { Random } from '../signal/index.ts';
import type { Loss } from './damage.ts';

export interface ChanceDamage {
  /** 1-based */
  readonly channels: readonly number[];
  readonly frames: number;
  /** losses in each channel */
  readonly count: number;
  /** lost samples of one loss, from and to inclusive */
  readonly minFrames: number;
  readonly maxFrames: number;
  /** every `every`-th sample of the loss is lost; 1 (default) = all */
  readonly every?: number;
  /** all channels at the same places */
  readonly together?: boolean;
  readonly cause: string;
}

/**
 * `count` losses spread evenly by chance, at least one good sample apart and not at the very ends. Returns fewer when
 * the recording is too short for them.
 */
export function chanceLosses(spec: ChanceDamage, random: Random): Loss[] {
  const stream = (channel: number) => random.fork(spec.together ? 'all channels' : `channel ${channel}`);
  return spec.channels.flatMap((channel) => channelLosses(spec, channel, stream(channel)));
}

function channelLosses(spec: ChanceDamage, channel: number, random: Random): Loss[] {
  const every = spec.every ?? 1;
  // one loss somewhere inside each of `count` equal parts: random places that never touch
  const part = Math.floor((spec.frames - 2) / spec.count);
  const losses: Loss[] = [];
  for (let k = 0; k < spec.count; k++) {
    const samples = spec.minFrames + random.integer(spec.maxFrames - spec.minFrames + 1);
    const length = (samples - 1) * every + 1;
    const room = part - length - 1;
    if (room < 1) continue;
    const start = 1 + k * part + random.integer(room);
    losses.push(lossAt(channel, start, length, spec.cause, every));
  }
  return losses;
}

/** One loss at a known place. */
export function lossAt(channel: number, start: number, length: number, cause: string, every = 1): Loss {
  const base = { channel, start, length, cause };
  if (every > 1) return { ...base, pattern: `period ${every}`, lost: (frame) => (frame - start) % every === 0 };
  return { ...base, pattern: length === 1 ? 'single' : 'run' };
}

/** Everything gone in all channels: a crease, a tear, a splice. */
export function tornSpot(channels: number, start: number, length: number): Loss[] {
  return Array.from({ length: channels }, (_, c) => lossAt(c + 1, start, length, 'torn spot'));
}
