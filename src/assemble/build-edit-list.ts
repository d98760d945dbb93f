// From provenance to the frozen edit list: which frames of which file make each master channel. Says nothing about why;
// that stays with the provenance.
import type { Alignment } from '../align/index.ts';
import { deepFreeze, firstEndingAfter, spanEnd, TapeproofError } from '../base/index.ts';
import {
  type PlacedSpan,
  type ProvenanceRun,
  placedSpans,
  type ReconcileCapture,
  type ReconcilePlan,
} from '../reconcile/index.ts';
import type { EditList, EditPiece, EditSource } from './edit-list.ts';

export interface EditListMeta {
  /** the tape's identifier on the sheet */
  readonly tape: string;
}

/**
 * `sources[i]` describes the file of `captures[i]`. Pieces split where the place in the file jumps and merge where only the
 * reason changed. Throws `input` when sources and captures do not belong together.
 */
export function buildEditList(
  meta: EditListMeta,
  sources: readonly EditSource[],
  plan: ReconcilePlan,
  runs: readonly ProvenanceRun[],
  alignment: Alignment,
  captures: readonly ReconcileCapture[],
  audioSha256: string,
): EditList {
  checkSources(sources, captures);
  const placed = new Map<number, PlacedSpan[]>();
  for (const placement of alignment.placements) {
    if (placement.group === plan.group) placed.set(placement.capture, placedSpans(placement, plan.start));
  }
  const pieces = new Map<number, EditPiece[]>(plan.channels.map(({ channel }) => [channel, []]));
  for (const run of runs) addRun(pieces.get(run.channel), run, placed);
  return deepFreeze({
    schema: 'tapeproof/edit-list@1',
    tape: meta.tape,
    rate: { num: plan.rate.num, den: plan.rate.den },
    bits: plan.bits,
    frames: plan.frames,
    sources: sources.map((s) => ({ ...s })),
    channels: [...pieces].map(([channel, list]) => ({ channel, pieces: list })),
    audioSha256,
  });
}

function checkSources(sources: readonly EditSource[], captures: readonly ReconcileCapture[]): void {
  const fits =
    sources.length === captures.length &&
    sources.every(({ frames, channels, bits }, i) => {
      const { info } = captures[i].source;
      return frames === info.frames && channels === info.channels && bits === info.bits;
    });
  if (!fits) {
    throw new TapeproofError('input', 'edit list: the files described are not the captures reconciled', {
      expected: captures.map((c) => c.source.info.name).join(', '),
      found: sources.map((s) => s.path).join(', '),
    });
  }
}

function addRun(
  pieces: EditPiece[] | undefined,
  run: ProvenanceRun,
  placed: ReadonlyMap<number, readonly PlacedSpan[]>,
): void {
  if (!pieces) throw new Error(`a run names channel ${run.channel}, which the plan does not have`);
  if (run.source === null) {
    pushPiece(pieces, { start: run.start, length: run.length, source: null, fileChannel: 0, from: 0 });
    return;
  }
  const { capture, fileChannel } = run.source;
  let at = run.start;
  const spans = placed.get(capture) ?? [];
  for (let i = firstEndingAfter(spans, at); at < spanEnd(run); i++) {
    const span = spans[i];
    if (!span || span.start > at) throw new Error(`capture ${capture} has no frame at master frame ${at}`);
    const length = Math.min(spanEnd(run), spanEnd(span)) - at;
    pushPiece(pieces, { start: at, length, source: capture, fileChannel, from: span.from + at - span.start });
    at += length;
  }
}

function pushPiece(pieces: EditPiece[], piece: EditPiece): void {
  const last = pieces.at(-1);
  const continues =
    last &&
    last.source === piece.source &&
    last.fileChannel === piece.fileChannel &&
    (piece.source === null || last.from + last.length === piece.from);
  if (continues) pieces[pieces.length - 1] = { ...last, length: last.length + piece.length };
  else pieces.push(piece);
}
