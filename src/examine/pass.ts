// The one streaming pass: every detector sees every block, then each may look once more at spans it names. Opens no
// files; whoever drives it (tasks/) feeds the blocks of a source and lends the source for the second look.
import {
  type Block,
  DEFAULT_BLOCK_FRAMES,
  type FrameInfo,
  type FrameSource,
  type JsonObject,
  mergeSpans,
  type Span,
  type StopSignal,
  throwIfStopped,
} from '../base/index.ts';
import type { Detector, DetectorSession, Emit } from './detector.ts';
import type { Finding, Verdict } from './finding.ts';
import { oneStory } from './one-story.ts';

export interface DetectorRecord {
  readonly id: string;
  readonly version: number;
  readonly label: string;
  readonly settings: JsonObject;
  /** why the detector had nothing to say about this recording */
  readonly declined?: string;
}

export interface ExamineResult {
  readonly findings: readonly Finding[];
  readonly verdicts: readonly Verdict[];
  readonly detectors: readonly DetectorRecord[];
}

export type SettingsById = { readonly [detectorId: string]: JsonObject };

/** State with a life: begin, push all blocks in order, finish once. */
export class Examination {
  readonly #sessions: DetectorSession[] = [];
  readonly #records: DetectorRecord[] = [];
  readonly #findings: Finding[] = [];
  readonly #verdicts: Verdict[] = [];

  constructor(info: FrameInfo, detectors: readonly Detector[], settings: SettingsById = {}) {
    const emit: Emit = {
      finding: (finding) => void this.#findings.push(finding),
      verdict: (verdict) => void this.#verdicts.push(verdict),
    };
    for (const { meta, begin } of detectors) {
      const merged = { ...meta.settings, ...settings[meta.id] };
      const session = begin(info, merged, emit);
      const record = { id: meta.id, version: meta.version, label: meta.label, settings: merged };
      if ('notApplicable' in session) this.#records.push({ ...record, declined: session.notApplicable });
      else {
        this.#records.push(record);
        this.#sessions.push(session);
      }
    }
  }

  push(block: Block): void {
    for (const session of this.#sessions) session.push(block);
  }

  /** `source` is read again only where a detector asked for it, in file order, each frame once. */
  async finish(source: FrameSource, stop?: StopSignal): Promise<ExamineResult> {
    const looking: DetectorSession[] = [];
    const wanted: Span[] = [];
    for (const session of this.#sessions) {
      const spans = session.finish();
      if (spans?.length && session.look) {
        looking.push(session);
        wanted.push(...spans);
      }
    }
    const within = { start: 0, length: source.info.frames };
    for (const span of mergeSpans(wanted.map((s) => clampSpan(s, within)))) {
      for (let at = 0; at < span.length; at += DEFAULT_BLOCK_FRAMES) {
        throwIfStopped(stop);
        const block = await source.read(span.start + at, Math.min(DEFAULT_BLOCK_FRAMES, span.length - at));
        for (const session of looking) session.look?.(block);
      }
    }
    for (const session of looking) session.finishLook?.();
    return {
      findings: oneStory(this.#findings).sort(byPlace),
      verdicts: this.#verdicts.sort((a, b) => a.channel - b.channel),
      detectors: this.#records,
    };
  }
}

/** Feeds a whole source. Convenience for sources that need no digest. */
export async function examineSource(
  source: FrameSource,
  detectors: readonly Detector[],
  options: { settings?: SettingsById; blockFrames?: number; stop?: StopSignal } = {},
): Promise<ExamineResult> {
  const examination = new Examination(source.info, detectors, options.settings);
  const { blockFrames, stop } = options;
  for await (const block of source.blocks({ ...(blockFrames ? { blockFrames } : {}), stop })) examination.push(block);
  return examination.finish(source, stop);
}

function clampSpan(span: Span, within: Span): Span {
  const start = Math.max(within.start, span.start);
  return { start, length: Math.min(within.length, span.start + span.length) - start };
}

function byPlace(a: Finding, b: Finding): number {
  return a.start - b.start || (a.channels[0] ?? 0) - (b.channels[0] ?? 0) || a.kind.localeCompare(b.kind);
}
