// The JSON document of `plan`: the plan with what it rests on. Programs rely on its keys (docs/json.md). Not for its text faces.
import type { Plan, PlanRequest } from '../../plan/index.ts';
import type { Misplay } from '../../tape/index.ts';

export interface PlanTapeFacts {
  readonly id: string;
  readonly format: string | null;
  readonly formatLabel: string | null;
  readonly system: string | null;
}

export interface PlanMachine {
  readonly name: string;
  /** the user's words for what it is */
  readonly equipment: string | null;
}

export interface PlanDocument extends Plan {
  readonly schema: 'tapeproof/plan@1';
  /** sheet it was made from */
  readonly sheet: string;
  readonly tape: PlanTapeFacts;
  readonly wanted: PlanRequest['wanted'];
  readonly rules: PlanRequest['rules'];
  readonly equipment: { readonly decks: readonly PlanMachine[]; readonly recorders: readonly PlanMachine[] };
  /** sentences: what the sheet does not say and was taken on trust */
  readonly trusted: readonly string[];
  /** sentences: what the user should know of this plan beside the plan */
  readonly remarks: readonly string[];
  /** what comes of a wrong deck, speed or system */
  readonly misplays: readonly Misplay[];
  /** with --out: the folder and the names of what was written there */
  readonly written: { readonly folder: string; readonly files: readonly string[] } | null;
}
