// The JSON document of `chain`: the certificate, or what stands in its way. Programs rely on its keys (docs/json.md). Not for its text and page.
import type { Problem, Rate } from '../../base/index.ts';
import type { ChainFinding, ChainJudgement, ChainVerdict } from '../../measure/index.ts';
import type { Digests, ReadWith } from '../documents.ts';

export interface ChainFile {
  readonly path: string;
  readonly container: string;
  readonly rate: Rate;
  readonly bits: number;
  readonly channels: number;
  readonly frames: number;
  readonly digests: Digests;
  /** what was wrong with the file itself */
  readonly problems: readonly Problem[];
}

export interface ChainDocument {
  readonly schema: 'tapeproof/chain@1';
  readonly tool: string;
  /** ISO 8601, UTC */
  readonly date: string;
  readonly verdict: ChainVerdict;
  readonly signal: {
    readonly version: number;
    readonly bits: number;
    readonly rate: Rate;
    readonly cells: number;
    readonly frames: number;
  };
  /** the file that was played, found to be the signal as it is written; absent where the capture alone was given */
  readonly sent?: ChainFile;
  readonly captured: ChainFile;
  readonly channels: ChainJudgement['channels'];
  readonly findings: readonly ChainFinding[];
  readonly coverage: ChainJudgement['coverage'];
  readonly proof: ChainJudgement['proof'];
  readonly settings: { readonly channels?: readonly number[]; readonly readWith?: ReadWith };
  /** typed by the user: firmware, switches, cables */
  readonly notes: readonly string[];
  /** what speaks against the judgement itself */
  readonly doubts: readonly string[];
  readonly written?: readonly string[];
}
