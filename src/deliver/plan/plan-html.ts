// plan.html: the plan, then one patch sheet per pass on a page of its own, to print and tick off. Self-contained, no scripts.
import { el, type Markup } from '../markup.ts';
import { bulletList, htmlPage } from '../page.ts';
import { REPORT_STYLE } from '../report-style.ts';
import type { ReportTable } from '../report-table.ts';
import { tableMarkup } from '../table-markup.ts';
import { letterOf, type PatchSheet, type PatchStep, patchSheet } from './patch-sheet.ts';
import type { PlanDocument } from './plan-document.ts';
import { costTable, fileTable, readTable } from './plan-tables.ts';
import { channelText, firstSentence, hoursText, MARKS, passTitle, planLists, tapeLine } from './plan-words.ts';
import { PATCH_STYLE, patchDrawing } from './svg-patch.ts';

export function planHtml(document: PlanDocument): string {
  const title = `Plan: ${document.tape.id}`;
  const sheets = document.passes.map((pass) => ({ pass, sheet: patchSheet(document, pass) }));
  const links = document.passes.map((pass) =>
    el('li', {}, el('a', { href: `#pass-${pass.pass}` }, `Pass ${pass.pass}`)),
  );
  return htmlPage(
    title,
    REPORT_STYLE + PATCH_STYLE,
    el(
      'header',
      {},
      el('h1', {}, title),
      el('p', { class: 'first' }, firstSentence(document)),
      el('p', {}, tapeLine(document)),
    ),
    el('nav', { 'aria-label': 'Patch sheets' }, el('ul', {}, links)),
    el(
      'main',
      {},
      overview(document),
      ...sheets.map(({ pass, sheet }) => sheetMarkup(sheet, pass.deck, fileTable(pass))),
    ),
  );
}

function overview(document: PlanDocument): Markup {
  const [joins, ...others] = planLists(document).map(({ title, lines }) => listMarkup(title, lines));
  return el(
    'section',
    { id: 'plan', 'aria-labelledby': 'plan-head' },
    el('h2', { id: 'plan-head' }, 'The passes'),
    tableMarkup(passTable(document)),
    tableMarkup(readTable(document)),
    joins,
    tableMarkup(costTable(document)),
    ...others,
    document.misplays.length > 0 ? el('p', { class: 'note' }, MARKS) : null,
  );
}

function passTable({ passes }: PlanDocument): ReportTable {
  const columns = ['pass', 'cables', 'files', 'work'].map((header) => ({ header }));
  const rows = passes.map((pass) => [
    passTitle(pass),
    pass.connections
      .map((one, i) => `${letterOf(i)}: ${one.output} \u2192 ${one.recorder} (${channelText(one.channels)})`)
      .join(', '),
    pass.captures.map(({ file }) => file).join(', '),
    hoursText(pass.hours),
  ]);
  return { title: 'Passes', columns, rows };
}

function listMarkup(title: string, lines: readonly string[]): Markup {
  return el('div', {}, el('h3', {}, title), ...bulletList(lines));
}

function sheetMarkup(sheet: PatchSheet, deck: string, files: ReportTable): Markup {
  const id = `pass-${sheet.pass}`;
  return el(
    'section',
    { id, class: 'sheet', 'aria-labelledby': `${id}-head` },
    el('h2', { id: `${id}-head` }, sheet.title),
    ...sheet.facts.map((fact) => el('p', {}, fact)),
    patchDrawing(sheet, deck),
    el(
      'p',
      { class: 'note' },
      `${sheet.clock} Thick lines are connected anew, thin ones stay; dashed goes through converters, dotted is the data stream.`,
    ),
    tableMarkup(cablesOf(sheet)),
    tableMarkup(files),
    ...sheet.steps.map((step, i) => stepMarkup(step, `${id}-${i}`)),
    el(
      'div',
      { class: 'step' },
      el('h3', {}, 'Write down'),
      el(
        'ul',
        { class: 'fields' },
        sheet.fields.map((field) => el('li', {}, field)),
      ),
    ),
  );
}

function cablesOf({ cables }: PatchSheet): ReportTable {
  const columns = ['', 'output', 'input', 'channels', '', 'through'].map((header) => ({ header }));
  const rows = cables.map(({ letter, connection: one }) => [
    letter,
    `${one.output} (${one.outputKind})`,
    `${one.recorder}: ${one.input} (${one.inputKind})`,
    channelText(one.channels),
    one.isNew ? 'new' : 'stays',
    one.adapter === null ? one.cable : `${one.cable}; ${one.adapter}`,
  ]);
  return { title: 'Cables', columns, rows };
}

function stepMarkup({ title, tasks, cautions }: PatchStep, id: string): Markup {
  const item = (text: string, i: number) =>
    el('li', {}, el('label', {}, el('input', { type: 'checkbox', id: `${id}-${i}` }), el('span', {}, text)));
  return el(
    'div',
    { class: 'step' },
    el('h3', {}, title),
    ...cautions.map((text) => el('p', { class: 'caution' }, text)),
    el('ul', { class: 'tasks' }, tasks.map(item)),
  );
}
