// A table of a report as HTML. Not for choosing or cutting rows.
import { el, type Markup } from './markup.ts';
import type { ReportTable } from './report-table.ts';

export function tableMarkup({ title, columns, rows }: ReportTable): Markup {
  const head = columns.map(({ header, align }) =>
    el('th', { scope: 'col', class: align === 'right' ? 'n' : undefined }, header),
  );
  const body = rows.map((row) =>
    el(
      'tr',
      {},
      columns.map(({ header, align }, i) => el('td', { class: cellClass(header, align) }, row[i] ?? '')),
    ),
  );
  return el(
    'div',
    { class: 'scroll', tabindex: 0, role: 'region', 'aria-label': title },
    el('table', {}, el('caption', {}, title), el('thead', {}, el('tr', {}, head)), el('tbody', {}, body)),
  );
}

function cellClass(header: string, align: 'left' | 'right' | undefined): string | undefined {
  if (header === 'digest') return 'digest';
  return align === 'right' ? 'n' : undefined;
}
