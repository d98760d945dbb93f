// `plan`: the passes of a tape from its sheet (tape, wanted, bench, rules). Writes only into a folder of its own, and never over what is there.
import { join } from 'node:path';
import { deepFreeze, stableJson } from '../base/index.ts';
import { fileNames, isLoose, type PlanDocument, patchSheet, patchText, planHtml, planText } from '../deliver/index.ts';
import { writeFileSafely } from '../media/index.ts';
import { makePlan, type Plan, type PlanRequest, type Reason } from '../plan/index.ts';
import { misplays } from '../tape/index.ts';
import { planRequest, trustedOf } from './plan-request.ts';
import { refuseExisting } from './refuse-existing.ts';
import { type BenchSheet, loadBenchSheet, parseSheet } from './sheet.ts';
import { type SheetProblem, sheetError } from './sheet-problem.ts';
import type { SheetPath } from './sheet-words.ts';
import { stageFolder } from './staged-folder.ts';

export interface PlanOptions {
  /** folder for the plan, its patch sheets and the transfer sheet */
  readonly out?: string | undefined;
}

/** Throws `input` with every reason where nothing on this bench can do it. */
export async function planSheet(path: string, { out }: PlanOptions = {}): Promise<PlanDocument> {
  const sheet = await loadBenchSheet(path);
  const request = planRequest(sheet);
  const plan = makePlan(request);
  if ('reasons' in plan) throw impossible(sheet, plan.reasons);
  const document = documentOf(sheet, request, plan);
  if (out === undefined) return deepFreeze(document);
  const written = { ...document, written: { folder: out, files: PLAN_FILES } };
  await writePlan(out, sheet, written);
  return deepFreeze(written);
}

const TRANSFER_SHEET = 'transfer-sheet.yaml';
const PLAN_FILES = ['plan.html', 'plan.txt', 'plan.json', TRANSFER_SHEET] as const;

/** Nothing that is there is written over: a plan may have been ticked off, a sheet corrected. */
async function writePlan(folder: string, sheet: BenchSheet, document: PlanDocument): Promise<void> {
  for (const name of PLAN_FILES) await refuseExisting(join(folder, name));
  const text = transferSheet(sheet, document);
  parseSheet(text, join(folder, TRANSFER_SHEET));
  const patches = document.passes.map((pass) => patchText(patchSheet(document, pass)));
  const texts = [planHtml(document), [planText(document), ...patches].join('\n\n\f\n'), stableJson(document), text];
  const stage = await stageFolder(folder, PLAN_FILES, [sheet.path]);
  try {
    for (const [i, name] of PLAN_FILES.entries()) await writeFileSafely(stage.pathOf(name), texts[i]);
    await stage.publish(PLAN_FILES, () => false);
  } catch (error) {
    await stage.discard();
    throw error;
  }
}

/** The user's sheet with the planned captures: names that the recorders' files are given, so that they drop in. */
function transferSheet({ text }: BenchSheet, { passes }: PlanDocument): string {
  const captures = passes.flatMap((pass) =>
    pass.captures.map((capture) => {
      const files = fileNames(capture);
      const together = pass.captures.filter(({ starts }) => starts !== null && starts === capture.starts);
      return {
        ...(files.length > 1 ? { files } : { file: files[0] }),
        ...{ pass: pass.pass, deck: pass.deck, recorder: capture.recorder, channels: [...capture.channels] },
        ...(together.length > 1 ? { starts: capture.starts } : {}),
        ...(capture.isAnalogue ? { notes: 'through converters' } : {}),
      };
    }),
  );
  const comment =
    ' planned: give the recorders\u2019 files these names and put them beside this sheet, then tapeproof run';
  return text.withCaptures(captures, comment);
}

/** Parts are left that nothing joins, though the rules want them joined. */
export function planNeedsPerson(document: PlanDocument): boolean {
  return isLoose(document);
}

function documentOf(sheet: BenchSheet, request: PlanRequest, plan: Plan): PlanDocument {
  const { tape, wanted, rules, decks, recorders } = request;
  const named = (list: readonly { readonly name: string; readonly equipment: string | null }[]) =>
    list.map(({ name, equipment }) => ({ name, equipment }));
  const used = new Set(plan.passes.flatMap(({ deck, captures }) => [deck, ...captures.map((one) => one.recorder)]));
  return {
    schema: 'tapeproof/plan@1',
    sheet: sheet.path,
    tape: {
      id: tape.id,
      format: tape.format?.id ?? null,
      formatLabel: tape.format?.label ?? null,
      system: tape.format?.system ?? tape.system,
    },
    ...{ wanted, rules, equipment: { decks: named(decks), recorders: named(recorders) } },
    ...plan,
    trusted: trustedOf(sheet, used),
    remarks: remarksOf(sheet, request, plan),
    misplays: tape.format ? misplays(tape.format) : [],
    written: null,
  };
}

function remarksOf({ hasCaptures }: BenchSheet, request: PlanRequest, plan: Plan): string[] {
  const { recorders, wanted } = request;
  const starts = recorders.flatMap((one) => one.starts ?? []);
  const lonely = recorders.filter(
    (one) => one.starts !== null && starts.filter((word) => word === one.starts).length < 2,
  );
  const analogue = plan.passes.flatMap(({ captures }) =>
    captures.filter((one) => one.isAnalogue).map(({ file }) => file),
  );
  return [
    ...(hasCaptures
      ? ['The sheet has captures of its own: they are not looked at, and the new sheet holds only the planned ones.']
      : []),
    ...lonely.map(({ name, starts: word }) => `Recorder ${name}: no other recorder starts with it (starts: ${word}).`),
    ...(analogue.length > 0 ? [`Through converters, never bit-exact, proving no sample: ${analogue.join(', ')}.`] : []),
    ...oddSpeed(request),
    ...unusedStreams(request, plan),
    ...(wanted.reads === 1 ? ['One read of every channel is planned: no sample will be proven.'] : []),
  ];
}

/** A speed that the format's facts do not list is planned all the same: they may lack it. */
function oddSpeed({ tape, wanted: { speed } }: PlanRequest): string[] {
  const modes = tape.format?.tapeSpeeds.map(({ value }) => value.mode) ?? [];
  if (speed === null || modes.length === 0 || modes.some((mode) => mode.toLowerCase() === speed.toLowerCase()))
    return [];
  return [`The speed ${speed} is none that is known of this format (${modes.join(', ')}): check it.`];
}

/** The stream is dearer in storage and the better source: that it was left out is for the user to weigh. */
function unusedStreams({ decks, recorders }: PlanRequest, { passes, idle }: Plan): string[] {
  if (passes.some(({ captures }) => captures.some(({ isStream }) => isStream))) return [];
  const isIn = (name: string) =>
    idle.includes(name) ||
    passes.some(({ deck, captures }) => deck === name || captures.some((one) => one.recorder === name));
  const from = decks.filter(({ name, outputs }) => isIn(name) && outputs.some(({ kind }) => kind === 'dif'));
  const to = recorders.filter(({ name, inputs }) => isIn(name) && inputs.some(({ kind }) => kind === 'dif'));
  if (from.length === 0 || to.length === 0) return [];
  return [
    `The data stream of ${from[0].name} into ${to[0].name} is not used: it takes far more storage. It passes on the error codes that other outputs cover up; to plan with it, leave the other outputs off the sheet.`,
  ];
}

/** Every reason at the place of the sheet that it speaks of. */
function impossible({ path, text }: BenchSheet, reasons: readonly Reason[]) {
  // What decides comes first; what was ruled out on the way to it follows.
  const isFinal = ({ about }: Reason) => (about === 'rules' || about === 'tape' ? 0 : 1);
  const ordered = [...reasons].sort((a, b) => isFinal(a) - isFinal(b));
  const problems = ordered.map((reason): SheetProblem => {
    const { about, name, why, help } = reason;
    const who = name === '' ? '' : `${about} ${name}: `;
    return { message: `${who}${why}`, at: text.at(placeOf(reason, text.raw)), next: `what would help: ${help}` };
  });
  return sheetError(path, text.placeOf, problems, 'no plan is possible on this bench');
}

function placeOf({ about, name, code }: Reason, raw: unknown): SheetPath {
  if (about === 'rules') return ['rules'];
  if (code === 'unknown-rate') return ['tape'];
  if (about === 'tape') return ['wanted'];
  const list = `${about}s`;
  const machines = (raw as { bench: Record<string, readonly { name: string }[]> }).bench[list];
  return ['bench', list, machines.findIndex((machine) => machine.name.trim() === name)];
}
