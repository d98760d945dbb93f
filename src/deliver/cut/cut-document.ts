// The JSON documents of `cut`: proposals as a list, and the parts that were written with the check that they are the master. Not for their text
// faces.
import type { CutLine, CutList } from '../../assemble/index.ts';
import type { Rate } from '../../base/index.ts';
import type { Digests } from '../documents.ts';

export interface CutMasterRecord {
  readonly path: string;
  readonly audioSha256: string;
  readonly rate: Rate;
  readonly frames: number;
  readonly channels: number;
  /** channels with timecode: not listened to */
  readonly codeChannels: readonly number[];
}

export interface CutProposals {
  readonly schema: 'tapeproof/cut@1';
  readonly tape: string | null;
  /** the cut list that was written */
  readonly list: string | null;
  readonly masters: readonly CutMasterRecord[];
  readonly lines: readonly CutLine[];
}

export interface CutItem {
  readonly id: string;
  readonly path: string;
  /** index into `masters` */
  readonly master: number;
  /** 1-based; the programme of a tape that has several beside each other */
  readonly programme: number | null;
  readonly channels: readonly number[];
  readonly start: number;
  readonly frames: number;
  readonly title: string;
  readonly why: string;
  readonly marks: readonly { readonly frame: number; readonly title: string; readonly why: string }[];
  /** items before and after it on the same channels; null at the ends */
  readonly previous: string | null;
  readonly next: string | null;
  /** first items of the other programmes of the same tape */
  readonly beside: readonly string[];
  readonly digests: Digests;
}

export interface CutCheck {
  readonly master: number;
  /** of all samples in order, from the master and from the parts that were read again: equal, or nothing is published */
  readonly samplesSha256: string;
  readonly frames: number;
  readonly parts: number;
}

export interface CutParts {
  readonly schema: 'tapeproof/cut-parts@1';
  readonly tape: string | null;
  readonly list: string;
  readonly folder: string;
  readonly masters: readonly {
    readonly path: string;
    readonly rate: Rate;
    readonly frames: number;
    readonly channels: number;
    readonly digests: Digests;
    /** false where the list named no digest to hold it against */
    readonly isDigestKnown: boolean;
  }[];
  readonly items: readonly CutItem[];
  readonly checks: readonly CutCheck[];
  /** copies of masters with every place marked */
  readonly marked: readonly string[];
}

export function cutProposals(
  { tape, lines }: CutList,
  masters: readonly CutMasterRecord[],
  list: string | null,
): CutProposals {
  return {
    schema: 'tapeproof/cut@1',
    tape,
    list,
    masters: masters.map(({ path, audioSha256, rate, frames, channels, codeChannels }) => ({
      ...{ path, audioSha256, rate: { num: rate.num, den: rate.den }, frames, channels, codeChannels },
    })),
    lines,
  };
}
