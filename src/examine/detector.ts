// The contract every detector keeps (how to add one: docs/CONTRIBUTING). No files, no clocks, no randomness; results do
// not depend on block size (contract.test.ts runs every detector over all of that).
import type { Block, FrameInfo, JsonObject, Span } from '../base/index.ts';
import type { Finding, Verdict } from './finding.ts';

export interface DetectorMeta<Settings extends JsonObject = JsonObject> {
  readonly id: string;
  /** goes up whenever a number in a report may change */
  readonly version: number;
  readonly label: string;
  /** what the recording must have, in words; shown when the detector declines */
  readonly needs: string;
  readonly settings: Settings;
}

export interface Emit {
  finding(finding: Finding): void;
  verdict(verdict: Verdict): void;
}

/** One run over one recording. `push` gets consecutive blocks; `finish` emits what is left. */
export interface DetectorSession {
  push(block: Block): void;
  /** May return spans to be read again; they are merged, sorted and given to `look` once. Then `finishLook` is called, whether spans
   * were asked for or not. */
  finish(): readonly Span[] | undefined;
  look?(block: Block): void;
  finishLook?(): void;
  /** Asked after each `finishLook`: spans for a further look, given to `look` as before; nothing when all has been seen. For those who
   * need to have seen everything (which law was in use) before they know what to look for. */
  lookFurther?(): readonly Span[] | undefined;
}

export interface NotApplicable {
  readonly notApplicable: string;
}

export interface Detector<Settings extends JsonObject = JsonObject> {
  readonly meta: DetectorMeta<Settings>;
  begin(info: FrameInfo, settings: Settings, emit: Emit): DetectorSession | NotApplicable;
}
