// What a deck plays where samples are lost: mean, straight line, hold, mute with ramps, repeat; and the list of what it
// covered. The order of the steps is common practice (mean of good neighbours, else hold, else mute); lengths and
// ramps are maker-specific and nowhere published, so they are settings. Not for finding where samples are lost.
import { type Span, spanEnd } from '../base/index.ts';
import { type ConcealMethod, coverRun, type LostRun, lostRuns } from './cover.ts';
import type { Damage } from './damage.ts';
import { muteSpans, ramp } from './mute.ts';
import { LOSS_KINDS, type LossKind, type TruthEvent } from './truth.ts';

/** Applies to runs of at most `upTo` consecutive lost samples. */
export interface ConcealRule {
  readonly upTo: number;
  readonly method: ConcealMethod;
}

export interface ConcealPolicy {
  /** tried in order; a run longer than all of them is muted without a ramp */
  readonly rules: readonly ConcealRule[];
  /** 'codes': before the expansion of a companded format. 'samples' (default): after it */
  readonly domain?: 'samples' | 'codes';
}

/** What the deck reads: expanded samples, and the codes behind them when the format is companded. */
export interface ReadTape {
  readonly planes: readonly Int32Array[];
  readonly codes?: readonly Int32Array[] | undefined;
  /** code -> sample, the deck's expansion */
  readonly expand?: ((code: number) => number) | undefined;
}

export interface Concealed {
  /** fresh planes, as the deck's output gives them */
  readonly planes: Int32Array[];
  /** sorted by channel and start */
  readonly events: TruthEvent[];
  /** per sample 0 = as on the tape, else 1 + index into LOSS_KINDS */
  readonly kinds: Uint8Array[];
}

/** Mean for a single lost sample, straight line to 3, hold to 48, then a mute with ramps: a deck of no special make. */
export const COMMON_POLICY: ConcealPolicy = Object.freeze({
  rules: [
    { upTo: 1, method: { kind: 'line', rounding: 'floor' } },
    { upTo: 3, method: { kind: 'line', rounding: 'toward-zero' } },
    { upTo: 48, method: { kind: 'hold' } },
    { upTo: Infinity, method: { kind: 'mute', fadeOutFrames: 0, fadeInFrames: 96, releaseFrames: 0 } },
  ],
} satisfies ConcealPolicy);

/** Covers every lost sample. The originals are not touched. */
export function conceal(tape: ReadTape, damage: Damage, policy: ConcealPolicy = COMMON_POLICY): Concealed {
  const planes: Int32Array[] = [];
  const events: TruthEvent[] = [];
  const kinds: Uint8Array[] = [];
  for (const [c, original] of tape.planes.entries()) {
    const runs = lostRuns(damage.masks[c], damage.layers, c + 1);
    const { plane, covered } = coverChannel(tape, c, runs, policy);
    events.push(...eventsOf(covered, original, plane, c + 1));
    planes.push(plane);
    const marks = new Uint8Array(plane.length);
    for (const run of covered) marks.fill(LOSS_KINDS.indexOf(run.kind) + 1, run.start, spanEnd(run));
    kinds.push(marks);
  }
  return { planes, events, kinds };
}

/** A run with what became of it. `start`/`length` grow by the ramps of a mute. */
interface CoveredRun extends LostRun {
  readonly kind: LossKind;
}

function coverChannel(tape: ReadTape, c: number, runs: readonly LostRun[], policy: ConcealPolicy) {
  const inCodes = policy.domain === 'codes' && tape.codes !== undefined && tape.expand !== undefined;
  const source = inCodes ? tape.codes[c] : tape.planes[c];
  const plane = source.slice();
  const methods = runs.map((run) => methodFor(run.length, policy));
  const kinds = runs.map((run, k) => coverRun(plane, run, methods[k]));
  if (inCodes && tape.expand) expandRuns(plane, tape.planes[c], runs, tape.expand);
  const others = runs.flatMap((run, k): CoveredRun[] => (kinds[k] === 'muted' ? [] : [{ ...run, kind: kinds[k] }]));
  const mutes = muteSpans(
    runs.map((run, k) => ({ run, method: methods[k] })).filter((_, k) => kinds[k] === 'muted'),
    plane.length,
  );
  for (const mute of mutes) ramp(plane, mute);
  const covered = [...outside(others, mutes), ...mutes.map((m): CoveredRun => ({ ...m, kind: 'muted' }))];
  return { plane, covered: covered.sort((a, b) => a.start - b.start) };
}

/** The parts of the runs that no mute swallows: what was covered and then silenced is heard, and told, as a mute. */
function outside(runs: readonly CoveredRun[], mutes: readonly Span[]): CoveredRun[] {
  const parts: CoveredRun[] = [];
  let m = 0;
  for (const run of runs) {
    let at = run.start;
    while (m < mutes.length && spanEnd(mutes[m]) <= at) m++;
    for (let k = m; k < mutes.length && mutes[k].start < spanEnd(run); k++) {
      if (mutes[k].start > at) parts.push({ ...run, start: at, length: mutes[k].start - at });
      at = Math.max(at, spanEnd(mutes[k]));
    }
    if (at < spanEnd(run)) parts.push({ ...run, start: at, length: spanEnd(run) - at });
  }
  return parts;
}

/** From codes back to samples: covered runs through the deck's expansion, everything else as it was. */
function expandRuns(
  plane: Int32Array,
  original: Int32Array,
  runs: readonly LostRun[],
  expand: (code: number) => number,
): void {
  let at = 0;
  for (const run of runs) {
    plane.set(original.subarray(at, run.start), at);
    at = run.start + run.length;
    for (let i = run.start; i < at; i++) plane[i] = expand(plane[i]);
  }
  plane.set(original.subarray(at), at);
}

function methodFor(length: number, policy: ConcealPolicy): ConcealMethod {
  const rule = policy.rules.find(({ upTo }) => length <= upTo);
  return rule?.method ?? { kind: 'mute', fadeOutFrames: 0, fadeInFrames: 0, releaseFrames: 0 };
}

/** Neighbouring runs of one fault with one kind make one event; a single run is never split. */
function eventsOf(runs: readonly CoveredRun[], original: Int32Array, plane: Int32Array, channel: number): TruthEvent[] {
  const events: TruthEvent[] = [];
  for (let k = 0; k < runs.length; ) {
    const first = runs[k];
    let [samples, changed, end] = [0, 0, first.start];
    for (; k < runs.length && runs[k].owner === first.owner && runs[k].kind === first.kind; k++) {
      const run = runs[k];
      end = run.start + run.length;
      samples += run.length;
      for (let i = run.start; i < end; i++) if (plane[i] !== original[i]) changed++;
    }
    const { pattern, cause } = first.owner;
    events.push({
      channel,
      kind: first.kind,
      start: first.start,
      length: end - first.start,
      samples,
      changed,
      pattern,
      cause,
    });
  }
  return events;
}
