// `reconcile`: repeated reads of the same channels, given as files, into one composite beside its provenance. Every file is
// taken as a pass of its own, and its channels as tape channels in file order.
import { basename, dirname, resolve } from 'node:path';
import { TapeproofError } from '../base/index.ts';
import { type AlignDocument, alignDocument } from '../deliver/index.ts';
import type { ProvenanceRun } from '../reconcile/index.ts';
import { fileSource, type ReadOptions } from './capture-source.ts';
import type { TaskContext } from './context.ts';
import { damageLines } from './damage-lines.ts';
import { type OpenCapture, withCaptures } from './open-captures.ts';
import { stageFolder } from './staged-folder.ts';
import { masterName, type TransferGroup, transfer } from './transfer.ts';

export interface ReconcileDocument {
  readonly schema: 'tapeproof/reconcile@1';
  readonly out: string;
  readonly edits: string;
  readonly files: readonly string[];
  readonly rate: { readonly num: number; readonly den: number };
  readonly frames: number;
  readonly bits: number;
  readonly digests: { readonly file: { readonly sha256: string }; readonly audio: { readonly sha256: string } };
  readonly channels: TransferGroup['tallies'];
  readonly agreement: TransferGroup['agreement'];
  readonly alignment: AlignDocument;
  readonly problems: readonly string[];
  readonly provenance: readonly ProvenanceRun[];
}

export interface ReconcileOptions extends ReadOptions {
  readonly out: string;
}

export async function reconcileFiles(
  paths: readonly string[],
  { out, ...reading }: ReconcileOptions,
  context: TaskContext = {},
): Promise<ReconcileDocument> {
  const target = resolve(out);
  const edits = target.replace(/\.[^./]+$/, '').concat('.edit-list.json');
  const names = [basename(target), basename(edits)];
  const stage = await stageFolder(dirname(target), names, paths);
  try {
    return await withCaptures(
      paths.map((path) => fileSource(path, reading)),
      context,
      async (captures) => {
        const facts = captures.map((capture, i) => ({ pass: i + 1, channels: inFileOrder(capture) }));
        const pathOf = (name: string) => stage.pathOf(name === masterName(0) ? names[0] : names[1]);
        const where = { folder: dirname(target), pathOf, firstGroupOnly: true };
        const result = await transfer('', captures, facts, where, context);
        const first = result.groups.find(({ plan }) => plan.group === 0);
        if (!first) throw nothingUsable(paths);
        await stage.publish(names, () => false);
        const damage = captures.flatMap(({ examined }) => damageLines(examined.path, examined.problems));
        const refused = result.alignment.placements
          .filter((p) => p.group > 0)
          .map((p) => `${paths[p.capture]} left out: ${p.reason}`);
        return {
          schema: 'tapeproof/reconcile@1',
          ...{
            out: target,
            edits,
            files: paths,
            rate: first.plan.rate,
            frames: first.plan.frames,
            bits: first.master.bits,
          },
          digests: first.master.digests,
          channels: first.tallies,
          agreement: first.agreement,
          alignment: alignDocument(paths, result.alignment),
          problems: [...damage, ...result.contradictions, ...result.problems, ...refused],
          provenance: first.runs,
        };
      },
    );
  } catch (error) {
    await stage.discard();
    throw error;
  }
}

/** A composite with losses left, reads that could not be used, or slips. */
export function reconcileNeedsPerson({ channels, problems, alignment }: ReconcileDocument): boolean {
  return problems.length > 0 || alignment.slips.length > 0 || channels.some((t) => t.unproven > 0 || t.lost > 0);
}

function inFileOrder({ audio }: OpenCapture): number[] {
  return Array.from({ length: audio.info.channels }, (_, c) => c + 1);
}

function nothingUsable(paths: readonly string[]): TapeproofError {
  return new TapeproofError('input', 'no read can be used', {
    found: paths.join(', '),
    next: 'see `tapeproof align` on the same files for the reason',
  });
}
