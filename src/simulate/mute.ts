// Muting with ramps: silence over the lost run, linear fades of the real signal into it and out of it.
import { type ConcealMethod, divide, type LostRun } from './cover.ts';

type Mute = Extract<ConcealMethod, { kind: 'mute' }>;
const PLAIN: Mute = { kind: 'mute', fadeOutFrames: 0, fadeInFrames: 0, releaseFrames: 0 };

/** A mute as it is heard: [start, start+length) with the ramps, silent over [silentFrom, silentTo). */
export interface MuteSpan extends LostRun {
  readonly silentFrom: number;
  readonly silentTo: number;
}

/** The audible spans of muted runs in order; mutes whose ramps would meet become one. Runs sorted by start. */
export function muteSpans(
  muted: readonly { readonly run: LostRun; readonly method: ConcealMethod }[],
  frames: number,
): MuteSpan[] {
  const spans: MuteSpan[] = [];
  for (const { run, method } of muted) {
    const next = muteSpan(run, method.kind === 'mute' ? method : PLAIN, frames);
    const last = spans.at(-1);
    if (last && next.start < last.start + last.length) {
      const end = Math.max(last.start + last.length, next.start + next.length);
      spans[spans.length - 1] = { ...last, length: end - last.start, silentTo: Math.max(last.silentTo, next.silentTo) };
    } else spans.push(next);
  }
  return spans;
}

/** Silences the middle and fades the flanks: gain j/(n+1) at the j-th frame from the silence, rounded toward zero. */
export function ramp(plane: Int32Array, mute: MuteSpan): void {
  const { start, silentFrom, silentTo } = mute;
  const end = start + mute.length;
  plane.fill(0, silentFrom, silentTo);
  const out = silentFrom - start + 1;
  for (let i = start; i < silentFrom; i++) plane[i] = divide(plane[i] * (silentFrom - i), out, 'toward-zero');
  const back = end - silentTo + 1;
  for (let i = silentTo; i < end; i++) plane[i] = divide(plane[i] * (i - silentTo + 1), back, 'toward-zero');
}

function muteSpan(run: LostRun, method: Mute, frames: number): MuteSpan {
  const silentTo = Math.min(frames, run.start + run.length + method.releaseFrames);
  const start = Math.max(0, run.start - method.fadeOutFrames);
  const end = Math.min(frames, silentTo + method.fadeInFrames);
  return { owner: run.owner, start, length: end - start, silentFrom: run.start, silentTo };
}
