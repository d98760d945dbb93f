// What one cable can bring of the wanted channels: every set that an output may be filled with. Not for choosing among them.
import type { DeckOutput, RecorderInput } from './bench.ts';
import { connectionOf } from './connection.ts';
import { binomial } from './search/units.ts';
import type { TapeFacts } from './tape-facts.ts';

/** sets of channels that one cable may carry; beyond, only neighbours are looked at */
const MOST_SETS = 1000;

/**
 * What the cable can bring that is wanted, as many channels as the input takes of it, 0 for one that is not used: the file holds all the same.
 * A free output is always filled: one more wanted channel costs nothing.
 */
export function carried(output: DeckOutput, inputs: number, wanted: readonly number[]): (readonly number[])[] {
  const room = Math.min(output.width, inputs);
  const filled = (choice: readonly number[]) => Array.from({ length: room }, (_, at) => choice[at] ?? 0);
  if (output.choices === null) {
    if (wanted.length === 0) return [];
    const size = Math.min(room, wanted.length);
    const sets = binomial(wanted.length, size) > MOST_SETS ? neighbours(wanted, size) : subsets(wanted, size);
    return sets.map(filled);
  }
  return output.choices.map(filled).filter((choice) => choice.some((one) => wanted.includes(one)));
}

/** More than are looked at. */
export function hasTooMany(output: DeckOutput, socket: RecorderInput, { channels }: TapeFacts): boolean {
  if (output.choices !== null || !connectionOf(output.kind, socket.kind)) return false;
  return binomial(channels.length, Math.min(output.width, socket.channels, channels.length)) > MOST_SETS;
}

function neighbours(list: readonly number[], size: number): number[][] {
  return Array.from({ length: list.length - size + 1 }, (_, from) => list.slice(from, from + size));
}

function subsets(list: readonly number[], size: number): number[][] {
  if (size === 0) return [[]];
  return list.flatMap((first, at) => subsets(list.slice(at + 1), size - 1).map((rest) => [first, ...rest]));
}

export function maskOf(channels: readonly number[], wanted: readonly number[]): number {
  return channels.reduce((mask, channel) => {
    const at = wanted.indexOf(channel);
    return at < 0 ? mask : mask | (1 << at);
  }, 0);
}
