// A plan as text for terminals and plan.txt. The patch sheets of its passes are patch-text's.
import type { ReportTable } from '../report-table.ts';
import { textTable, wrapText } from '../text-table.ts';
import type { PlanDocument } from './plan-document.ts';
import { cableTable, costTable, fileTable, readTable } from './plan-tables.ts';
import { firstSentence, MARKS, planLists, tapeLine } from './plan-words.ts';

export function planText(document: PlanDocument): string {
  const { passes, misplays, written } = document;
  const [joins, ...others] = planLists(document).map(({ title, lines }) => block(title, list(lines)));
  const sections = [
    wrapText(firstSentence(document)),
    wrapText(tapeLine(document)),
    ...passes.map((pass) => `${table(cableTable(pass))}\n${rows(fileTable(pass))}`),
    table(readTable(document)),
    joins,
    table(costTable(document)),
    ...others,
    ...(misplays.length > 0 ? [wrapText(MARKS, { indent: 2 })] : []),
    written === null
      ? wrapText('With --out DIR: this plan, a patch sheet for every pass, and the transfer sheet for `tapeproof run`.')
      : block(`In ${written.folder}`, list(written.files)),
  ];
  return `${sections.join('\n\n')}\n`;
}

function table(data: ReportTable): string {
  return block(data.title, rows(data));
}

function rows({ columns, rows: own }: ReportTable): string {
  return textTable(columns, own, { indent: 2 });
}

function block(title: string, body: string): string {
  return `${wrapText(title)}\n${body}`;
}

function list(lines: readonly string[]): string {
  return lines.map((line) => wrapText(line, { indent: 2, hang: 2 })).join('\n');
}
