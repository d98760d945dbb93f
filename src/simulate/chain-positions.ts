// Chain steps that change where samples stand: dropped and repeated frames, unlocked recorders, converters with another
// clock. Every output frame keeps its input position in `pieces`.
import { type Random, resampleReal } from '../signal/index.ts';
import type { AnaloguePath, ChainState } from './chain.ts';
import { clipTo, looser } from './chain-values.ts';
import type { TruthSegment } from './truth.ts';

/** Output frames of one stretch with the cause of the jump before it. */
export interface Piece extends TruthSegment {
  readonly cause: string;
}

export interface Positions {
  readonly pieces: readonly Piece[];
  readonly driftPpm: number;
}

export function dropFrames(state: ChainState, at: number, frames: number, cause: string): ChainState {
  const total = state.planes[0].length;
  const from = Math.max(0, Math.min(total, at));
  const to = Math.max(from, Math.min(total, at + frames));
  return splice(
    state,
    [
      { from: 0, to: from },
      { from: to, to: total },
    ],
    [cause],
  );
}

export function repeatFrames(state: ChainState, at: number, frames: number, cause: string): ChainState {
  const total = state.planes[0].length;
  const end = Math.max(0, Math.min(total, at));
  return splice(
    state,
    [
      { from: 0, to: end },
      { from: Math.max(0, end - frames), to: total },
    ],
    [cause],
  );
}

/** One sample lost or repeated whenever the clocks have slid by one, as a recorder without a common clock does. */
export function unlocked(state: ChainState, ppm: number): ChainState {
  const total = state.planes[0].length;
  const every = 1e6 / Math.abs(ppm);
  const cuts: { from: number; to: number }[] = [];
  let from = 0;
  for (let k = 1; Math.round(k * every) < total; k++) {
    const at = Math.round(k * every);
    cuts.push({ from, to: at });
    from = ppm > 0 ? at - 1 : at + 1;
  }
  cuts.push({ from, to: total });
  return splice(state, cuts, [ppm > 0 ? 'recorder clock fast' : 'recorder clock slow']);
}

/** Output from ranges of the input, in order; the cause belongs to every jump that is not one of before. */
function splice(state: ChainState, ranges: readonly { from: number; to: number }[], [cause]: [string]): ChainState {
  const used = ranges.filter(({ from, to }) => to > from);
  const length = used.reduce((sum, { from, to }) => sum + to - from, 0);
  const planes = state.planes.map((plane) => {
    const out = new Int32Array(length);
    let at = 0;
    for (const { from, to } of used) {
      out.set(plane.subarray(from, to), at);
      at += to - from;
    }
    return out;
  });
  return { ...state, planes, pieces: splicePieces(state.pieces, used, cause) };
}

function splicePieces(
  before: readonly Piece[],
  ranges: readonly { from: number; to: number }[],
  cause: string,
): Piece[] {
  const after: Piece[] = [];
  let at = 0;
  let k = 0;
  for (const { from, to } of ranges) {
    while (k > 0 && before[k].start > from) k--;
    while (before[k].start + before[k].length <= from) k++;
    let isJump = true;
    for (let j = k; j < before.length && before[j].start < to; j++) {
      const start = Math.max(from, before[j].start);
      const length = Math.min(to, before[j].start + before[j].length) - start;
      addPiece(after, {
        start: at,
        length,
        offset: before[j].offset + start - at,
        cause: isJump ? cause : before[j].cause,
      });
      at += length;
      isJump = false;
    }
  }
  return after;
}

/** A jump of nothing is no jump. */
function addPiece(pieces: Piece[], piece: Piece): void {
  const last = pieces.at(-1);
  if (last && last.offset === piece.offset) pieces[pieces.length - 1] = { ...last, length: last.length + piece.length };
  else pieces.push(piece);
}

/** Resamples to 1 + ppm/1e6 frames per frame; positions in `pieces` are rounded to whole frames. */
export function drift(state: ChainState, ppm: number): ChainState {
  if (ppm === 0) return state;
  const clip = clipTo(state.bits);
  const planes = resampled(state, ppm, 0).map((plane) => Int32Array.from(plane, (x) => clip(Math.round(x))));
  return { ...moved(state, planes[0].length, ppm, 0), planes, relation: looser(state.relation, 'resampled') };
}

export function analogue(state: ChainState, path: AnaloguePath, random: Random): ChainState {
  const clip = clipTo(state.bits);
  const factor = 10 ** (path.gainDb / 20);
  const planes = resampled(state, path.driftPpm, path.delayFrames).map((plane, c) => {
    const noise = random.fork(`noise ${c}`);
    lowPass(plane, path.lowPass);
    return Int32Array.from(plane, (x) =>
      clip(Math.round(x * factor + path.noiseRms * noise.gaussian() + path.dcSteps)),
    );
  });
  return {
    ...moved(state, planes[0].length, path.driftPpm, Math.round(path.delayFrames)),
    planes,
    relation: 'via-analogue',
    gain: state.gain * factor,
  };
}

function resampled(state: ChainState, ppm: number, delayFrames: number): Float64Array[] {
  const step = 1 / (1 + ppm / 1e6);
  const frames = Math.round(state.planes[0].length / step);
  return state.planes.map((plane) => resampleReal(Float64Array.from(plane), -delayFrames * step, step, frames));
}

function moved(state: ChainState, frames: number, ppm: number, delayFrames: number): ChainState {
  const factor = 1 + ppm / 1e6;
  const starts = state.pieces.map((piece) => Math.round(piece.start * factor) + delayFrames);
  const pieces = state.pieces
    .map((piece, k) => {
      const start = Math.max(0, starts[k]);
      return {
        ...piece,
        start,
        length: Math.min(frames, starts[k + 1] ?? frames) - start,
        offset: piece.start + piece.offset - starts[k],
      };
    })
    .filter((piece) => piece.length > 0);
  return { ...state, pieces, driftPpm: state.driftPpm + ppm + (state.driftPpm * ppm) / 1e6 };
}

/** First order, in place: y += a (x - y); the pole is matched to the corner (impulse invariance). */
function lowPass(plane: Float64Array, corner: number): void {
  if (corner >= 0.5) return;
  const a = 1 - Math.exp(-2 * Math.PI * corner);
  let y = 0;
  for (let n = 0; n < plane.length; n++) plane[n] = y += a * (plane[n] - y);
}
