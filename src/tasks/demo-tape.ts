// The demo's invented tape: a concert in the Harbour Ballroom that never took place, on eight tracks, captured in five passes on
// two recorders with two inputs each. Invented data, for the demo only.
import { rate } from '../base/index.ts';
import {
  damageOf,
  encodeTape,
  headLosses,
  lossAt,
  type SimulatedTransfer,
  simulateTransfer,
  synthesiseProgramme,
  tornSpot,
} from '../simulate/index.ts';
import { findFormat } from '../tape/index.ts';

export const DEMO_FORMAT = 'eight-track-8mm';
export const DEMO_TAPE = 'HB-0417';
const CHANNELS = 8;
const RATE_HZ = 48_000;
const at = (seconds: number) => Math.round(seconds * RATE_HZ);

/** What was done to the tape, the decks and the recorders: the truth that the demo's result is held against. */
export const DEMO_FAULTS = {
  /** in every pass: nobody can bring these samples back */
  torn: { start: at(31.2), length: at(0.06) },
  /** pass 2: one head of the deck clogged for six seconds */
  clogged: { pass: 2, start: at(12), length: at(6) },
  /** pass 3: single drop-outs of some milliseconds, one channel each */
  dropOuts: [5, 6, 7, 8].map((channel, k) => ({ pass: 3, channel, start: at(40 + 2.5 * k), length: 60 + 40 * k })),
  /** the south recorder lost samples in pass 3 */
  slip: { capture: 'p3-south.wav', lostFrames: 37, atTapeFrame: at(22.5) },
  /** the south recorder's level control was not at unity in pass 5 */
  gain: { capture: 'p5-south.wav', num: 15, den: 16 },
} as const;

/** Every channel is read in two passes, and each capture shares a channel with another pass: a ring that holds together. */
const CAPTURES = [
  { pass: 1, recorder: 'north', channels: [1, 2], before: 0.8 },
  { pass: 1, recorder: 'south', channels: [3, 4], before: 1.3 },
  { pass: 2, recorder: 'north', channels: [2, 3], before: 0.4 },
  { pass: 2, recorder: 'south', channels: [4, 5], before: 2.1 },
  { pass: 3, recorder: 'north', channels: [5, 6], before: 1.7 },
  { pass: 3, recorder: 'south', channels: [7, 8], before: 0.2 },
  { pass: 4, recorder: 'north', channels: [6, 7], before: 1.1 },
  { pass: 4, recorder: 'south', channels: [8, 1], before: 0.9 },
  { pass: 5, recorder: 'south', channels: [1, 2], before: 0.6 },
] as const;

export interface DemoTape {
  readonly transfer: SimulatedTransfer;
  readonly captures: readonly {
    readonly name: string;
    readonly pass: number;
    readonly recorder: string;
    readonly deck: string;
  }[];
}

/** Deterministic by the seed. */
export function demoTape(seed: number, seconds: number): DemoTape {
  const programme = synthesiseProgramme({ channels: CHANNELS, seconds, rate: rate(RATE_HZ), bits: 16, seed });
  const tape = encodeTape(programme, { rate: rate(RATE_HZ), wordBits: 16, outputBits: 16 });
  const frames = tape.planes[0].length;
  const { torn, clogged, dropOuts, slip, gain } = DEMO_FAULTS;
  const head = findFormat(DEMO_FORMAT).losses[0];
  const all = Array.from({ length: CHANNELS }, (_, c) => c + 1);
  const damages = new Map([
    [2, damageOf(CHANNELS, frames, [headLosses({ pattern: head, channels: all, ...span(clogged) })])],
    [3, damageOf(CHANNELS, frames, [dropOuts.map((d) => lossAt(d.channel, d.start, d.length, 'drop-out'))])],
  ]);
  const specs = CAPTURES.map(({ pass, recorder, channels, before }) => {
    const name = `p${pass}-${recorder}.wav`;
    const startFrame = -at(before);
    const drop = { kind: 'drop' as const, at: slip.atTapeFrame - startFrame, frames: slip.lostFrames };
    const step = { kind: 'gain' as const, num: gain.num, den: gain.den };
    const chain = name === slip.capture ? [drop] : name === gain.capture ? [step] : [];
    return { name, pass, recorder, channels, startFrame, chain };
  });
  const transfer = simulateTransfer({
    seed,
    tape,
    damage: damageOf(CHANNELS, frames, [tornSpot(CHANNELS, torn.start, torn.length)]),
    passes: [1, 2, 3, 4, 5].map((pass) => {
      const damage = damages.get(pass);
      return damage ? { pass, damage } : { pass };
    }),
    captures: specs,
  });
  return {
    transfer,
    captures: specs.map(({ name, pass, recorder }) => ({
      name,
      pass,
      recorder,
      deck: pass % 2 ? 'bench-1' : 'bench-2',
    })),
  };
}

function span({ start, length }: { readonly start: number; readonly length: number }) {
  return { start, length };
}
