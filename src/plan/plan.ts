// The finished plan as plain data: passes with their connections and captures, what joins them, what it costs, what was ruled out.
// Channels of captures are numbered as on the transfer sheet.
import type { Rate } from '../base/index.ts';
import type { Fact } from '../tape/index.ts';
import type { CostParts, pointsOf } from './cost.ts';
import type { Reason } from './reason.ts';
import type { CaptureSize } from './storage.ts';

export interface PlanConnection {
  readonly output: string;
  readonly outputKind: string;
  readonly recorder: string;
  readonly input: string;
  readonly inputKind: string;
  /** tape channels on the cable, as on the sheet; 0 where a channel is not wanted */
  readonly channels: readonly number[];
  /** the output can be set to other channels: set it so */
  readonly mustBeSet: boolean;
  readonly cable: string;
  readonly adapter: string | null;
  readonly cautions: readonly Fact<string>[];
  readonly isAnalogue: boolean;
  /** not connected like this in the pass before */
  readonly isNew: boolean;
}

export interface PlanCapture {
  readonly file: string;
  readonly recorder: string;
  /** tape channel of each file channel; 0 = not used */
  readonly channels: readonly number[];
  readonly bits: number;
  /** what the header will probably say; null where only the recorder knows */
  readonly labelHz: number | null;
  readonly size: CaptureSize;
  /** recorders with the same word in the same pass start together */
  readonly starts: string | null;
  readonly isAnalogue: boolean;
  /** the data stream itself, picture and all; its words and rate are the tape's */
  readonly isStream: boolean;
  /** what the recorder follows; none: data that brings its own time, or converters that run free */
  readonly clock: 'input' | 'word' | 'none';
  /** the tape's timecode comes out of the deck and is kept with the file */
  readonly timecode: boolean;
  /** has a rate converter that must be switched off */
  readonly canResample: boolean;
}

export interface PlanPass {
  readonly pass: number;
  /** null where the tape holds one recording */
  readonly programme: number | null;
  readonly deck: string;
  readonly connections: readonly PlanConnection[];
  readonly captures: readonly PlanCapture[];
  /** minutes from start to stop */
  readonly minutes: number;
  /** hours of a person, with handling and patching */
  readonly hours: number;
}

export type LinkKind = 'channel' | 'start' | 'timecode';

/** How a capture hangs on an earlier one. */
export interface PlanLink {
  readonly file: string;
  readonly to: string;
  readonly by: LinkKind;
  /** tape channels both hold; empty for other kinds */
  readonly channels: readonly number[];
}

export interface PlanGroup {
  readonly programme: number | null;
  readonly channels: readonly number[];
  readonly files: readonly string[];
}

export interface PlanRead {
  readonly channel: number;
  readonly passes: readonly number[];
  /** different decks among them */
  readonly decks: readonly string[];
}

export interface PlanCost {
  readonly parts: CostParts;
  readonly points: ReturnType<typeof pointsOf>;
  readonly total: number;
}

export interface PassesOnDeck {
  readonly deck: string;
  readonly passes: number;
}

export interface RunnerUp {
  readonly cost: PlanCost;
  readonly groups: number;
  readonly decks: readonly PassesOnDeck[];
  /**
   * no plan in which a programme shares its passes otherwise among the decks, decks that are alike taken as one, is better; false: another plan,
   * perhaps not the next
   */
  readonly isNext: boolean;
}

export interface Plan {
  readonly rate: Rate;
  readonly bits: number;
  readonly minutes: number;
  readonly assumptions: readonly string[];
  readonly passes: readonly PlanPass[];
  readonly decks: readonly PassesOnDeck[];
  readonly cost: PlanCost;
  /** null: none was found that shares the passes otherwise */
  readonly runnerUp: RunnerUp | null;
  readonly proof: {
    readonly isExact: boolean;
    /** points that a better plan could save at most; null where even that is open */
    readonly withinPoints: number | null;
  };
  readonly reads: readonly PlanRead[];
  readonly links: readonly PlanLink[];
  /** captures that samples or a common start hold together; one per programme is what is wanted */
  readonly groups: readonly PlanGroup[];
  /** the same where timecode counts too */
  readonly timecodeGroups: readonly PlanGroup[];
  readonly ruledOut: readonly Reason[];
  /** could be used and are not needed */
  readonly idle: readonly string[];
}
