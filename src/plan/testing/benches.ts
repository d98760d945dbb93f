// Benches for the tests: sound equipment of a few kinds, and random small benches from a seed.
import { rate } from '../../base/index.ts';
import { findFormat } from '../../tape/index.ts';
import {
  DEFAULT_HANDLING_MINUTES,
  DEFAULT_WEIGHTS,
  type Deck,
  type DeckOutput,
  type PlanRequest,
  type Recorder,
} from '../bench.ts';

export function freeOutputs(count: number, width = 2, kind = 'aes3'): DeckOutput[] {
  return Array.from({ length: count }, (_, i) => ({ name: `out ${i + 1}`, kind, width, choices: null }));
}

export function pairOutputs(pairs: number, kind = 'aes3'): DeckOutput[] {
  return Array.from({ length: pairs }, (_, i) => ({
    ...{ name: `out ${2 * i + 1}-${2 * i + 2}`, kind, width: 2 },
    choices: [[2 * i + 1, 2 * i + 2]],
  }));
}

export function deck(name: string, outputs: readonly DeckOutput[], more: Partial<Deck> = {}): Deck {
  const open = { equipment: null, plays: null, systems: null, speeds: null };
  return { name, outputs, ...open, timecode: false, wordClock: false, wear: 1, ...more };
}

export function recorder(name: string, more: Partial<Recorder> & { readonly pairs?: number } = {}): Recorder {
  const { pairs = 1, ...rest } = more;
  const inputs = Array.from({ length: pairs }, (_, i) => ({ name: `in ${i + 1}`, kind: 'aes3', channels: 2 }));
  return {
    ...{ name, inputs, equipment: null, rates: null, bits: [16, 24], clock: 'input', resamples: 'never' },
    ...{ fileLimit: null, splits: true, storage: null, timecode: false, starts: null },
    ...rest,
  };
}

export function recorders(count: number, more: Partial<Recorder> = {}): Recorder[] {
  return Array.from({ length: count }, (_, i) => recorder(`recorder ${i + 1}`, more));
}

export interface RequestSpec {
  readonly decks: readonly Deck[];
  readonly recorders: readonly Recorder[];
  readonly reads?: number;
  /** of one programme */
  readonly channels?: number;
  readonly programmes?: number;
  readonly format?: string;
  readonly rules?: Partial<PlanRequest['rules']>;
  readonly wanted?: Partial<PlanRequest['wanted']>;
}

/** An eight-track tape of 100 min at 48 kHz unless said otherwise. */
export function request(spec: RequestSpec): PlanRequest {
  const upTo = (count: number) => Array.from({ length: count }, (_, i) => i + 1);
  const format = spec.format === undefined ? null : findFormat(spec.format);
  return {
    tape: { id: 'HB-0417', format, system: null, rate: format ? format.signal.rates.value[0] : rate(48_000), word: 16 },
    wanted: {
      channels: spec.channels === undefined ? (format ? null : upTo(8)) : upTo(spec.channels),
      programmes: spec.programmes === undefined ? null : upTo(spec.programmes),
      ...{ reads: spec.reads ?? 2, minutes: 100, speed: null, condition: 'good', signs: [] },
      ...spec.wanted,
    },
    decks: spec.decks,
    recorders: spec.recorders,
    rules: {
      ...{
        passes: null,
        handlingMinutes: DEFAULT_HANDLING_MINUTES,
        prefer: null,
        join: 'exact',
        analogue: false,
        cost: DEFAULT_WEIGHTS,
      },
      ...spec.rules,
    },
  };
}

/** Small enough for trying everything; `next` gives numbers from 0 to 1. */
export function randomRequest(next: () => number): PlanRequest {
  const pick = <T>(...list: readonly T[]): T => list[Math.floor(next() * list.length)];
  const channels = pick(2, 3, 4);
  const outputs = (): DeckOutput[] => {
    const width = pick(1, 2, 2, 3);
    const some = () => Array.from({ length: width }, () => 1 + Math.floor(next() * channels));
    const choices = pick(
      null,
      () => [[...new Set(some())]],
      () => [[...new Set(some())], [...new Set(some())]],
    );
    return Array.from({ length: pick(1, 2, 2, 3) }, (_, i) => ({
      ...{ name: `out ${i + 1}`, kind: pick('aes3', 'aes3', 'own kind'), width },
      choices: choices === null ? null : choices(),
    }));
  };
  const decks = Array.from({ length: pick(1, 2) }, (_, d) =>
    deck(`deck ${d + 1}`, outputs(), { wear: pick(1, 1, 1.4), timecode: pick(true, false) }),
  );
  if (decks.length === 2 && next() < 0.3) decks[1] = { ...decks[0], name: 'deck 2' };
  const list = Array.from({ length: pick(1, 2, 2, 3) }, (_, r) => {
    const inputs = Array.from({ length: pick(1, 1, 2) }, (_, i) => ({
      ...{ name: `in ${i + 1}`, kind: pick('aes3', 'aes3', 'own kind'), channels: pick(1, 2, 2) },
    }));
    return recorder(`recorder ${r + 1}`, {
      inputs,
      starts: pick(null, null, 'rack'),
      timecode: pick(true, false),
      bits: [pick(16, 24)],
    });
  });
  const rules = { join: pick('exact', 'exact', 'timecode', 'none'), prefer: pick(null, 'wear', 'proof') } as const;
  return request({ decks, recorders: list, channels, reads: pick(1, 2), rules });
}
