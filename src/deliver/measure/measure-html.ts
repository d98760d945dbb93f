// The measurement as one self-contained page, and each of its plots as a file of its own. No scripts, nothing from the network.
import { el, type Markup, ownText } from '../markup.ts';
import { REPORT_STYLE } from '../report-style.ts';
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
  const head = el(
    'head',
    {},
    el('meta', { charset: 'utf-8' }),
    el('meta', { name: 'viewport', content: 'width=device-width, initial-scale=1' }),
    el('title', {}, title),
    el('style', {}, ownText(REPORT_STYLE + CURVE_STYLE)),
  );
  const body = el(
    'body',
    {},
    el('h1', {}, title),
    el('main', {}, [
      section(
        'what',
        'What it is',
        captures.map((capture, k) => identity(capture, names[k])),
      ),
      section('doubts', 'Doubts', doubts(captures, names)),
      section('numbers', 'Numbers', [numberTable(captures, names)]),
      section('curves', 'Curves', figures(document)),
      section(
        'method',
        'Method',
        METHOD_NOTES.map((note) => el('p', {}, note)),
      ),
    ]),
  );
  return `<!DOCTYPE html>\n${el('html', { lang: 'en-GB' }, head, '\n', body).markup}\n`;
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

function section(id: string, title: string, body: readonly Markup[]): Markup | null {
  if (body.length === 0) return null;
  return el('section', { id, 'aria-labelledby': `${id}-head` }, el('h2', { id: `${id}-head` }, title), ...body);
}

function identity(capture: MeasuredCapture, name: string): Markup {
  const sayings = identitySayings(capture).flatMap(({ text, because }, k) => [
    el('p', k === 0 ? { class: 'first' } : {}, `${text}.`),
    ...(because ? [el('p', { class: 'note' }, because)] : []),
  ]);
  return el('article', {}, el('h3', {}, `${name}: ${capture.path}`), ...sayings);
}

function doubts(captures: readonly MeasuredCapture[], names: readonly string[]): Markup[] {
  const all = captures.flatMap((capture, k) => capture.doubts.map((text) => el('li', {}, `${names[k]}: ${text}`)));
  return all.length > 0 ? [el('ul', {}, all)] : [];
}

function numberTable(captures: readonly MeasuredCapture[], names: readonly string[]): Markup {
  const columns = captures.flatMap((capture, k) =>
    (captures.length === 1 ? capture.channels : [mainChannel(capture)]).map((channel) => ({
      capture,
      channel,
      name: captures.length === 1 ? `channel ${channel.channel}` : names[k],
    })),
  );
  const heads = ['quantity', ...columns.map((column) => column.name), ''];
  const rows = QUANTITIES.map((quantity) =>
    el(
      'tr',
      {},
      el('th', { scope: 'row' }, quantity.label),
      ...columns.map(({ channel, capture }) =>
        el('td', { class: 'n' }, measuredText(quantity.of(channel, capture), quantity.digits)),
      ),
      el('td', {}, quantity.unit),
    ),
  );
  return el(
    'div',
    { class: 'scroll' },
    el(
      'table',
      {},
      el(
        'thead',
        {},
        el(
          'tr',
          {},
          heads.map((text, k) =>
            el('th', { scope: 'col', class: k > 0 && k <= columns.length ? 'n' : undefined }, text),
          ),
        ),
      ),
      el('tbody', {}, rows),
    ),
  );
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
