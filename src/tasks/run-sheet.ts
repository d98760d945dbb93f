// `run`: the whole job from a transfer sheet: examine every capture, place them, choose sample by sample, write master,
// edit list and report. Everything appears in the result folder together or not at all.
import { deepFreeze, rateHz } from '../base/index.ts';
import {
  buildReport,
  captureFiles,
  type ReportGroup,
  type ReportTape,
  reportHtml,
  reportJson,
  reportText,
  type TransferReport,
} from '../deliver/index.ts';
import { writeFileSafely } from '../media/index.ts';
import { findFormat } from '../tape/index.ts';
import type { TaskContext } from './context.ts';
import { type OpenCapture, withCaptures } from './open-captures.ts';
import { loadSheet, type SheetTape, type TransferSheet } from './sheet.ts';
import { captureSources } from './sheet-captures.ts';
import { stageFolder } from './staged-folder.ts';
import { editListName, masterName, type Transfer, type TransferGroup, transfer } from './transfer.ts';

export interface RunOptions {
  /** folder of the results; made when missing */
  readonly out: string;
}

const REPORTS = ['report.txt', 'report.html', 'report.json'] as const;

export async function runSheet(
  sheetPath: string,
  options: RunOptions,
  context: TaskContext = {},
): Promise<TransferReport> {
  return runTransfer(await loadSheet(sheetPath), options, context);
}

/** The same for a sheet at hand. */
export async function runTransfer(
  sheet: TransferSheet,
  { out }: RunOptions,
  context: TaskContext,
): Promise<TransferReport> {
  const possible = sheet.captures.flatMap((_, group) => [masterName(group), editListName(group)]);
  const sources = await captureSources(sheet);
  const paths = [sheet.path, ...sources.flatMap(({ files }) => files.map(({ path }) => path))];
  const stage = await stageFolder(out, [...possible, ...REPORTS], paths);
  try {
    return await withCaptures(sources, context, async (captures) => {
      const where = { folder: out, pathOf: stage.pathOf };
      const result = await transfer(sheet.tape.id, captures, sheet.captures, where, context);
      const report = reportOf(sheet, captures, result);
      await writeFileSafely(stage.pathOf('report.txt'), reportText(report));
      await writeFileSafely(stage.pathOf('report.html'), reportHtml(report));
      await writeFileSafely(stage.pathOf('report.json'), reportJson(report));
      const masters = result.groups.flatMap((group) => [group.masterName, group.editListName]);
      // The report last: it carries the digests of what was moved before it.
      await stage.publish([...masters, ...REPORTS], isResult);
      return report;
    });
  } catch (error) {
    await stage.discard();
    throw error;
  }
}

function isResult(name: string): boolean {
  return /^(master|edit-list)(-\d+)?\.(wav|json)$/.test(name);
}

/** Unproven or lost samples, refused joins, contradictions, slips, or captures that could not be read whole. */
export function runNeedsPerson(report: TransferReport): boolean {
  return (
    report.totals.unproven > 0 ||
    report.totals.lost > 0 ||
    report.refusedJoins.length > 0 ||
    report.loopConflicts.length > 0 ||
    report.leftOut.length > 0 ||
    report.contradictions.length > 0 ||
    report.captures.some((capture) => capture.readAs === 'partial')
  );
}

function reportOf(sheet: TransferSheet, captures: readonly OpenCapture[], result: Transfer): TransferReport {
  return deepFreeze(
    buildReport({
      date: new Date().toISOString(),
      tape: reportTape(sheet),
      captures: sheet.captures.map((capture, i) => {
        const { examined } = captures[i];
        const { deck, recorder, notes, pass, offset } = capture;
        const channels = result.channels[i];
        const { container, frames, rate, containerBits, readAs, problems, digests, findings, verdicts } = examined;
        return {
          ...{ path: examined.path, pass, deck, recorder, channels, declaredOffset: offset, notes },
          ...{ container, frames, rate, containerBits, readAs, problems, digests, findings, verdicts },
          ...(examined.interface ? { interface: examined.interface } : {}),
          ...captureFiles(examined),
        };
      }),
      alignment: result.alignment,
      groups: result.groups.map(reportGroup),
      contradictions: result.contradictions,
      detectors: captures[0]?.examined.detectors ?? [],
    }),
  );
}

function reportGroup({ plan, runs, agreement, master, masterName: path }: TransferGroup): ReportGroup {
  return {
    ...{ group: plan.group, start: plan.start, length: plan.frames, rate: plan.rate },
    ...{ runs, agreement, problems: plan.problems },
    master: {
      path,
      container: master.container,
      digests: master.digests,
      bits: master.bits,
      rate: plan.rate,
      headerRateHz: Math.round(rateHz(plan.rate)),
      frames: plan.frames,
      channels: plan.channels.map(({ channel }) => channel),
    },
  };
}

function reportTape({ tape, notes }: TransferSheet): ReportTape {
  return { ...tape, formatLabel: formatLabel(tape), notes };
}

function formatLabel({ format }: SheetTape): string | null {
  return format === null ? null : findFormat(format).label;
}
