// The parts of the signal as people read them in a list, with their peaks. Not for making samples.
import {
  BURST_FRAMES,
  CELL_FRAMES,
  type ChainSignal,
  EDGE_FRAMES,
  FADE_FRAMES,
  LADDER_STEPS,
  SILENCE_FRAMES,
} from './layout.ts';

export interface SignalPart {
  readonly id: string;
  readonly start: number;
  readonly length: number;
  /** dB below full scale; null for silence */
  readonly levelDb: number | null;
}

export function signalParts({ cells, rate }: ChainSignal): SignalPart[] {
  const burstMs = ((1000 * BURST_FRAMES * rate.den) / rate.num).toFixed(1);
  const ladder = LADDER_STEPS * CELL_FRAMES;
  const full = cells - 2 * LADDER_STEPS;
  const tail = EDGE_FRAMES + cells * CELL_FRAMES;
  const bursts = `hiss of -36 dBFS and less, with bursts of ${burstMs} ms`;
  return [
    { id: 'silence', start: 0, length: SILENCE_FRAMES, levelDb: null },
    { id: 'hiss, rising', start: SILENCE_FRAMES, length: FADE_FRAMES, levelDb: -48 },
    { id: `${bursts} that rise`, start: EDGE_FRAMES, length: ladder, levelDb: -6 },
    { id: `${bursts} at full scale`, start: EDGE_FRAMES + ladder, length: full * CELL_FRAMES, levelDb: 0 },
    { id: `${bursts} that fall`, start: tail - ladder, length: ladder, levelDb: -6 },
    { id: 'hiss, falling', start: tail, length: FADE_FRAMES, levelDb: -48 },
    { id: 'silence', start: tail + FADE_FRAMES, length: SILENCE_FRAMES, levelDb: null },
  ];
}
