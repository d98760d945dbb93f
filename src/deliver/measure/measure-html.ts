// The measurement as one self-contained page, and each of its plots as a file of its own. No scripts, nothing from the network.
import { el, type Markup, ownText } from '../markup.ts';
import { bulletList, htmlPage, section } from '../page.ts';
import { REPORT_STYLE } from '../report-style.ts';
import { left, right } from '../report-table.ts';
import { tableMarkup } from '../table-markup.ts';
import { CURVES, type CurveKind } from './measure-curves.ts';
import { type MeasureDocument, type MeasuredCapture, mainChannel } from './measure-document.ts';
import { measuredText, QUANTITIES } from './measure-quantities.ts';
import { captureNames } from './measure-text.ts';
import { identitySayings, METHOD_NOTES } from './measure-words.ts';
import { CURVE_STYLE, curveDrawing, MOST_SERIES, type Series } from './svg-curves.ts';

export function measureHtml(document: MeasureDocument): string {
  const { captures } = document;
  const names = captureNames(captures);
  const title =
    captures.length === 1 ? `Measurement: ${names[0]}` : `Measurement: ${captures.length} captures compared`;
  return htmlPage(
    title,
    REPORT_STYLE + CURVE_STYLE,
    el('h1', {}, title),
    el('main', {}, [
      section(
        'what',
        'What it is',
        captures.map((capture, k) => identity(capture, names[k])),
      ),
      section('doubts', 'Doubts', doubts(captures, names)),
      section('failed', 'Not measured', failures(document)),
      section('numbers', 'Numbers', [numberTable(captures, names)]),
      section('curves', 'Curves', figures(document)),
      section(
        'method',
        'Method',
        METHOD_NOTES.map((note) => el('p', {}, note)),
      ),
    ]),
  );
}

/** File name and contents of every plot. */
export function measureSvgs(document: MeasureDocument): { readonly name: string; readonly text: string }[] {
  return CURVES.map((kind) => {
    const { markup } = curveDrawing(kind.id, kind, seriesOf(document, kind));
    const style = el('style', {}, ownText(`${REPORT_STYLE.replace(/^\* \{.*$/m, '')}${CURVE_STYLE}`)).markup;
    const text = markup
      .replace('<svg ', '<svg xmlns="http://www.w3.org/2000/svg" ')
      .replace(/(<\/desc>)/, `$1${style}<rect width="100%" height="100%" fill="var(--paper)"/>`);
    return { name: `${kind.id}.svg`, text: `<?xml version="1.0" encoding="UTF-8"?>\n${text}\n` };
  });
}

/** One capture: its channels; several: the channel that stands for each. */
function seriesOf({ captures }: MeasureDocument, kind: CurveKind): Series[] {
  if (captures.length === 1) {
    return captures[0].channels.map((channel) => ({ name: `channel ${channel.channel}`, points: kind.of(channel) }));
  }
  const names = captureNames(captures);
  return captures.map((capture, k) => ({ name: names[k], points: kind.of(mainChannel(capture)) }));
}

function identity(capture: MeasuredCapture, name: string): Markup {
  const sayings = identitySayings(capture).flatMap(({ text, because }, k) => [
    el('p', k === 0 ? { class: 'first' } : {}, `${text}.`),
    ...(because ? [el('p', { class: 'note' }, because)] : []),
  ]);
  return el('article', {}, el('h3', {}, `${name}: ${capture.path}`), ...sayings);
}

function doubts(captures: readonly MeasuredCapture[], names: readonly string[]): Markup[] {
  return bulletList(captures.flatMap((capture, k) => capture.doubts.map((text) => `${names[k]}: ${text}`)));
}

function failures({ failed = [] }: MeasureDocument): Markup[] {
  return failed.map(({ path, error }) => el('article', {}, el('h3', {}, path), el('pre', {}, error)));
}

function numberTable(captures: readonly MeasuredCapture[], names: readonly string[]): Markup {
  const columns = captures.flatMap((capture, k) =>
    (captures.length === 1 ? capture.channels : [mainChannel(capture)]).map((channel) => ({
      capture,
      channel,
      name: captures.length === 1 ? `channel ${channel.channel}` : names[k],
    })),
  );
  const rows = QUANTITIES.map((quantity) => [
    quantity.label,
    ...columns.map(({ channel, capture }) => measuredText(quantity.of(channel, capture), quantity.digits)),
    quantity.unit,
  ]);
  const heads = [left('quantity'), ...columns.map(({ name }) => right(name)), left('unit')];
  return tableMarkup({ title: 'Numbers', columns: heads, rows });
}

function figures(document: MeasureDocument): Markup[] {
  return CURVES.map((kind) => {
    const series = seriesOf(document, kind);
    const rest = series.length > MOST_SERIES ? ` Only the first ${MOST_SERIES} are drawn; all are in the CSV.` : '';
    return el(
      'figure',
      {},
      el('h3', {}, kind.title),
      curveDrawing(kind.id, kind, series),
      el('figcaption', {}, `${kind.note}${rest}`),
    );
  });
}
