// The anchors of several captures: every second one on a second thread, where they are long. Same anchors, in the order of the
// captures. Not for captures that are examined as well: those give their anchors in the same read (open-captures.ts).
import { availableParallelism } from 'node:os';
import { type AnchorSet, collectAnchors } from '../align/index.ts';
import { type AudioFile, CompanionThread } from '../media/index.ts';
import type { CaptureSource } from './capture-source.ts';
import type { TaskContext } from './context.ts';

/** Samples below which a thread is not worth its start. */
const FEWEST_SAMPLES = 16_000_000;

/** `opened`: the same captures, for this thread. */
export async function collectAllAnchors(
  sources: readonly CaptureSource[],
  opened: readonly AudioFile[],
  context: TaskContext,
): Promise<AnchorSet[]> {
  const samples = opened.reduce((sum, { info }) => sum + info.frames * info.channels, 0);
  const isWorthIt = sources.length > 1 && samples >= FEWEST_SAMPLES && availableParallelism() > 1;
  const there = isWorthIt ? new AnchorThread(sources.filter((_, n) => isThere(n))) : undefined;
  try {
    const here = opened.map((audio, n) => ({ audio, n })).filter(({ n }) => !there || !isThere(n));
    const own = async () => {
      const sets: AnchorSet[] = [];
      for (const { audio, n } of here) sets[n] = await collectAnchors(audio, context);
      return sets;
    };
    const [sets, others] = await Promise.all([own(), there?.anchors]);
    // What failed there fails here again and says why, or is done after all.
    for (const [n, audio] of opened.entries()) {
      sets[n] ??= others?.[(n - 1) / 2] ?? (await collectAnchors(audio, context));
    }
    return sets;
  } finally {
    await there?.close();
  }
}

function isThere(n: number): boolean {
  return n % 2 === 1;
}

class AnchorThread {
  /** undefined where the thread failed */
  readonly anchors: Promise<readonly AnchorSet[] | undefined>;
  readonly #thread: CompanionThread<never, readonly AnchorSet[]>;

  constructor(sources: readonly CaptureSource[]) {
    let sets: readonly AnchorSet[] | undefined;
    this.#thread = new CompanionThread({
      ...{ beside: import.meta.url, file: 'anchor-worker', data: sources },
      take: (message) => {
        sets = message;
      },
      endedEarly: 'the thread for anchors ended early',
    });
    this.anchors = this.#thread
      .until(() => sets !== undefined)
      .then(
        () => sets,
        () => undefined,
      );
  }

  close(): Promise<void> {
    return this.#thread.close();
  }
}
