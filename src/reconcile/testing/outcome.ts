// Runs a whole reconciling in memory and spreads provenance over single samples, for the tests.
import type { Alignment } from '../../align/index.ts';
import { planReconcile, type ReconcilePlan } from '../plan.ts';
import type { ProvenanceRun, ReconcileCapture } from '../provenance.ts';
import { type ReconcileOptions, type Reconciliation, reconcile } from '../reconciliation.ts';
import { alignmentOf } from './reads.ts';

export interface Outcome {
  readonly plan: ReconcilePlan;
  readonly session: Reconciliation;
  readonly planes: readonly Int32Array[];
  readonly runs: readonly ProvenanceRun[];
}

export async function outcomeOf(
  captures: readonly ReconcileCapture[],
  alignment: Alignment = alignmentOf(captures),
  options: ReconcileOptions = {},
): Promise<Outcome> {
  const plan = planReconcile(captures, alignment);
  const session = reconcile(captures, alignment, plan, options);
  const planes = plan.channels.map(() => new Int32Array(plan.frames));
  for await (const block of session.blocks()) {
    for (const [c, plane] of block.planes.entries()) planes[c].set(plane, block.start);
  }
  return { plan, session, planes, runs: session.runs() };
}

/** The run of each frame of one channel. */
export function runPerFrame(outcome: Outcome, channel: number): ProvenanceRun[] {
  const out: ProvenanceRun[] = [];
  for (const run of outcome.runs) {
    if (run.channel === channel) for (let i = 0; i < run.length; i++) out[run.start + i] = run;
  }
  return out;
}
