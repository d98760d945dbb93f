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
import { lastingLattices } from './made-of-lines.ts';
import { oneAnswer, oneStory } from './one-story.ts';
import { toldInCodes } from './told-in-codes.ts';

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

/** Something said, with its place in the report's order: when in the pass, then which detector. Not the order of the clock, so
 * that detectors may run in any number of threads. */
interface Said<T> {
  readonly phase: number;
  readonly detector: number;
  readonly what: T;
}

/** What some of the detectors found. Plain data, to be joined with the shares of the others. */
export interface ExamineShare {
  readonly findings: readonly Said<Finding>[];
  readonly verdicts: readonly Said<Verdict>[];
  readonly detectors: readonly Said<DetectorRecord>[];
}

interface Running {
  readonly session: DetectorSession;
  readonly detector: number;
}

/** State with a life: begin, push all blocks in order, finish once. */
export class Examination {
  readonly #running: Running[] = [];
  readonly #records: Said<DetectorRecord>[] = [];
  readonly #findings: Said<Finding>[] = [];
  readonly #verdicts: Said<Verdict>[] = [];
  #phase = 0;

  /** `isMine`: the detectors of this share; all of them when left out. */
  constructor(
    info: FrameInfo,
    detectors: readonly Detector[],
    settings: SettingsById = {},
    isMine: (id: string) => boolean = () => true,
  ) {
    for (const [detector, { meta, begin }] of detectors.entries()) {
      if (!isMine(meta.id)) continue;
      const merged = { ...meta.settings, ...settings[meta.id] };
      const session = begin(info, merged, this.#emitOf(detector));
      const record = { id: meta.id, version: meta.version, label: meta.label, settings: merged };
      const declined = 'notApplicable' in session ? session.notApplicable : undefined;
      this.#records.push({ phase: 0, detector, what: declined ? { ...record, declined } : record });
      if (!('notApplicable' in session)) this.#running.push({ session, detector });
    }
  }

  push(block: Block): void {
    for (const { session } of this.#running) session.push(block);
  }

  /** `source` is read again only where a detector asked for it, in file order, each frame once. */
  async finish(source: SecondSource, stop?: StopSignal): Promise<ExamineResult> {
    return joinShares([await this.finishShare(source, stop)]);
  }

  async finishShare(source: SecondSource, stop?: StopSignal): Promise<ExamineShare> {
    this.#phase = 1;
    let asking = this.#running.map(({ session }) => ({ session, spans: session.finish() }));
    while (asking.length > 0) {
      this.#phase++;
      await lookAgain(asking, source, stop);
      for (const { session } of asking) session.finishLook?.();
      asking = asking
        .map(({ session }) => ({ session, spans: session.lookFurther?.() }))
        .filter(({ spans }) => spans?.length);
    }
    return { findings: this.#findings, verdicts: this.#verdicts, detectors: this.#records };
  }

  #emitOf(detector: number): Emit {
    return {
      finding: (what) => void this.#findings.push({ phase: this.#phase, detector, what }),
      verdict: (what) => void this.#verdicts.push({ phase: this.#phase, detector, what }),
    };
  }
}

interface Asking {
  readonly session: DetectorSession;
  readonly spans: readonly Span[] | undefined;
}

/** Each frame is read once for all that asked, and shown to them alone. */
async function lookAgain(asking: readonly Asking[], source: SecondSource, stop?: StopSignal): Promise<void> {
  const looking = asking.filter(({ session, spans }) => spans?.length && session.look);
  const within = { start: 0, length: source.info.frames };
  const wanted = looking.flatMap(({ spans }) => spans?.map((span) => clampSpan(span, within)) ?? []);
  for (const span of mergeSpans(wanted)) {
    for (let at = 0; at < span.length; at += DEFAULT_BLOCK_FRAMES) {
      throwIfStopped(stop);
      const block = await source.read(span.start + at, Math.min(DEFAULT_BLOCK_FRAMES, span.length - at));
      for (const { session } of looking) session.look?.(block);
    }
  }
}

/** What the second look needs of a source. */
export type SecondSource = Pick<FrameSource, 'info' | 'read'>;

/** The result of all detectors, whoever ran them: the same for any division into shares. */
export function joinShares(shares: readonly ExamineShare[]): ExamineResult {
  const verdicts = oneAnswer(inOrder(shares.flatMap((share) => share.verdicts)));
  const findings = toldInCodes(inOrder(shares.flatMap((share) => share.findings)), verdicts);
  return {
    findings: oneStory(lastingLattices(findings)).sort(byPlace),
    verdicts: verdicts.sort((a, b) => a.channel - b.channel),
    detectors: inOrder(shares.flatMap(({ detectors }) => detectors)),
  };
}

function inOrder<T>(said: readonly Said<T>[]): T[] {
  return [...said].sort((a, b) => a.phase - b.phase || a.detector - b.detector).map(({ what }) => what);
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
