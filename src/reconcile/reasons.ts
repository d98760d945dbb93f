// The words of provenance. Few and finite, so that neighbouring runs with the same story merge. No decisions here.
import { LOOK_WORDS, LOOKS } from './look.ts';
import type { Reason } from './run-book.ts';

/** What the words need to know of a read. */
export interface NamedRead {
  readonly pass: number;
  /** "pass 2", or "pass 2 (file)" where two recorders took the same pass */
  readonly label: string;
}

function list(labels: readonly string[]): string {
  return labels.length < 2 ? (labels[0] ?? '') : `${labels.slice(0, -1).join(', ')} and ${labels.at(-1)}`;
}

function names(reads: readonly NamedRead[]): string {
  return list(reads.map((r) => r.label));
}

export function equalReason(reads: readonly NamedRead[]): Reason {
  const passes = new Set(reads.map((r) => r.pass));
  if (passes.size >= 2) {
    const text = `equal in ${names(reads)}`;
    return { state: 'proven', code: 'equal-in-independent-reads', text, lost: false };
  }
  const text = `equal in ${names(reads)}: that proves the recorders, not the replay, because it is one pass`;
  return { state: 'chosen', code: 'same-pass-only', text, lost: false };
}

export function equalConcealedReason(reads: readonly NamedRead[]): Reason {
  const text = `equal in ${names(reads)}, but every one of them shows concealment here`;
  return { state: 'unproven', code: 'all-reads-concealed', text, lost: true };
}

/** Not counted as lost: chance looks like this too. */
export function equalDoubtfulReason(reads: readonly NamedRead[]): Reason {
  const text = `equal in ${names(reads)}, but looks concealed in all of them, beside a place where they differ`;
  return { state: 'unproven', code: 'all-reads-concealed', text, lost: false };
}

/** Not counted as lost: the sound may be whole again. */
export function guardedReason(reads: readonly NamedRead[]): Reason {
  const verb = reads.length > 1 ? 'lie' : 'lies';
  const text = `${names(reads)} ${verb} right beside a mute here, where a deck may still fade`;
  return { state: 'unproven', code: 'all-reads-concealed', text, lost: false };
}

export function singleReason(read: NamedRead, isBitEqual: boolean): Reason {
  const note = isBitEqual ? '' : '; its level was changed, so it is not bit-equal to the other captures';
  return { state: 'unproven', code: 'single-read', text: `only ${read.label} covers this${note}`, lost: false };
}

export function singleConcealedReason(read: NamedRead): Reason {
  const text = `only ${read.label} covers this, and it shows concealment here`;
  return { state: 'unproven', code: 'single-read-concealed', text, lost: true };
}

/** The carrier itself says that nothing was read: no estimate, no doubt. */
export function allLostReason(reads: readonly NamedRead[]): Reason {
  const verb = reads.length > 1 ? 'carry' : 'carries';
  const text = `${names(reads)} ${verb} the error code of the tape here: no valid sample`;
  return { state: 'unproven', code: 'all-reads-lost', text, lost: true };
}

export function otherLostReason(kept: readonly NamedRead[], lost: readonly NamedRead[]): Reason {
  const verb = lost.length > 1 ? 'carry' : 'carries';
  const text = `only ${names(kept)} has a sample here; ${names(lost)} ${verb} the error code of the tape`;
  return { state: 'chosen', code: 'other-read-lost', text, lost: false };
}

/** For a lattice as a whole: what lies between the lost samples is equal, which is more than is claimed of it. */
export function foldedReason(reason: Reason): Reason {
  if (reason.code !== 'other-read-lost') return reason;
  return { ...reason, text: `${reason.text}, again and again; the samples in between are equal` };
}

/** The same reason where further reads have no vote. */
export function besideLost(reason: Reason, lost: readonly NamedRead[]): Reason {
  const verb = lost.length > 1 ? 'carry' : 'carries';
  return { ...reason, text: `${reason.text}; ${names(lost)} ${verb} the error code of the tape` };
}

export function keptConcealedReason(kept: readonly NamedRead[], isLost: boolean): Reason {
  const how = isLost ? 'shows concealment' : 'looks concealed';
  const text = `what ${names(kept)} ${kept.length > 1 ? 'have' : 'has'} here ${how}`;
  return { state: 'unproven', code: 'all-reads-concealed', text, lost: isLost };
}

/** Before the first and after the last frame that any capture has of a channel: not captured, which is no loss of the tape. */
export const NOT_YET: Reason = Object.freeze({
  state: 'unproven',
  code: 'no-read',
  text: 'no capture of this channel had begun; silence keeps the channels in step',
  lost: false,
});

export const NO_MORE: Reason = Object.freeze({
  state: 'unproven',
  code: 'no-read',
  text: 'every capture of this channel had ended; silence keeps the channels in step',
  lost: false,
});

export const NO_READ: Reason = Object.freeze({
  state: 'unproven',
  code: 'no-read',
  text: 'no capture covers this; silence keeps the channels in step',
  lost: true,
});

export function majorityReason(agreeing: readonly NamedRead[], rest: readonly NamedRead[]): Reason {
  const verb = rest.length > 1 ? 'differ' : 'differs';
  const others = rest.length > 0 ? `; ${names(rest)} ${verb}` : '';
  const text = `equal in ${names(agreeing)}${others}`;
  return { state: 'proven', code: 'majority', text, lost: false };
}

export function differReason(reads: readonly NamedRead[]): Reason {
  const text = `${names(reads)} differ, and nothing tells which is right`;
  return { state: 'unproven', code: 'reads-differ', text, lost: false };
}

/** Lost only where the examination found concealment in every read: in smooth sound real samples may look concealed too. */
export function differConcealedReason(reads: readonly NamedRead[], isLost: boolean): Reason {
  const how = isLost ? 'show concealment' : 'look concealed';
  const text = `${names(reads)} differ, and all of them ${how} here`;
  return { state: 'unproven', code: 'all-reads-concealed', text, lost: isLost };
}

const ODDS = [1_000_000, 1000, 20];

/** The class of odds for the text: 0 = over a million to one, 1 = over 1000:1, 2 = over 20:1. `logOdds` natural log. */
export function oddsClass(logOdds: number): number {
  return Math.max(
    0,
    ODDS.findIndex((o) => logOdds >= Math.log(o)),
  );
}

/** The examination alone could not tell whose copy it is; an editor's would stand in every read. */
export function copiedReason(read: NamedRead): Reason {
  const text = `${read.label} has the same samples twice here, which no other read has`;
  return { state: 'chosen', code: 'other-read-concealed', text, lost: false, strength: -1 };
}

/** `odds` null: the examination's finding is the evidence. */
export function concealedReason(read: NamedRead, odds: { mechanism: number; class: number } | null): Reason {
  const text = odds
    ? `${read.label} looks ${LOOK_WORDS[LOOKS[odds.mechanism]]} here (odds over ${ODDS[odds.class]}:1)`
    : `the examination found concealment here in ${read.label}`;
  // A finding alone is worth 1000:1 (judge-run.ts), the middle class.
  return { state: 'chosen', code: 'other-read-concealed', text, lost: false, strength: -(odds?.class ?? 1) };
}
