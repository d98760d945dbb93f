// The tables of a plan, shared by its text and its page.
import type { PlanConnection, PlanPass } from '../../plan/index.ts';
import { left, type ReportTable, right, wide } from '../report-table.ts';
import type { PlanDocument } from './plan-document.ts';
import { channelText, costRows, hoursText, passTitle, readRows, storageText } from './plan-words.ts';

export function cableTable(pass: PlanPass): ReportTable {
  const rows = pass.connections.map((one) => [
    `${one.output}${setting(one)}`,
    `${one.recorder}: ${one.input}`,
    channelText(one.channels),
    one.adapter ?? one.cable,
  ]);
  const title = `${passTitle(pass)}  (${pass.minutes} min, ${hoursText(pass.hours)} of work)`;
  return { title, columns: [left('output'), left('input'), left('channels'), wide('through')], rows };
}

export function fileTable({ captures, pass }: PlanPass): ReportTable {
  const rows = captures.map((capture) => [
    capture.file,
    channelText(capture.channels),
    capture.isStream ? 'data' : `${capture.bits} bit`,
    storageText(capture),
  ]);
  const columns = [left('file'), left('channels'), left('word'), wide('size and split points')];
  return { title: `Files of pass ${pass}`, columns, rows };
}

export function readTable(document: PlanDocument): ReportTable {
  const columns = [right('channel'), left('passes'), left('decks'), wide('independence')];
  return { title: 'Reads', columns, rows: readRows(document) };
}

export function costTable({ cost }: PlanDocument): ReportTable {
  const columns = [left(''), left('amount'), right('points')];
  return { title: 'Cost (a point is about a minute of a person)', columns, rows: costRows(cost) };
}

function setting({ mustBeSet, isNew }: PlanConnection): string {
  const marks = [...(mustBeSet ? ['set it'] : []), ...(isNew ? [] : ['stays'])];
  return marks.length > 0 ? ` (${marks.join(', ')})` : '';
}
