// Why a deck, a recorder or a whole plan is not possible, and what would help. Plain data; the error made of them is tasks'.

export interface Reason {
  readonly about: 'tape' | 'deck' | 'recorder' | 'rules';
  /** name of the deck or recorder; empty for the tape and the rules */
  readonly name: string;
  readonly code: ReasonCode;
  readonly why: string;
  readonly help: string;
}

export type ReasonCode =
  | 'unknown-rate'
  | 'unknown-length'
  | 'unknown-channels'
  | 'no-such-channel'
  | 'too-many-channels'
  | 'wrong-format'
  | 'wrong-system'
  | 'wrong-speed'
  | 'no-wanted-channel'
  | 'no-equipment'
  | 'cannot-lock'
  | 'word-too-short'
  | 'resamples'
  | 'rate'
  | 'file-limit'
  | 'storage'
  | 'analogue'
  | 'no-connection'
  | 'channel-unreachable'
  | 'too-many-passes'
  | 'not-found';

export function reason(about: Reason['about'], name: string, code: ReasonCode, why: string, help: string): Reason {
  return { about, name, code, why, help };
}
