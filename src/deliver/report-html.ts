// report.html: one self-contained page, no scripts, nothing from the network. The layman's sentence first, drawings with
// the same figures in tables beside them. Prints the model, computes nothing.

import {
  captureTable,
  carrierTable,
  detectorTable,
  digestTable,
  flagTable,
  loopTable,
  lossTable,
  masterTable,
  partTable,
  placementTable,
  problemTable,
  slipTable,
  verdictTable,
} from './capture-rows.ts';
import { el, type Markup } from './markup.ts';
import { bulletList, htmlPage, section } from './page.ts';
import type { ReportTimeline, TransferReport } from './report-model.ts';
import { agreementTable, placeTable, provenanceTable, spanTable, tallyTable, tapeFacts } from './report-rows.ts';
import { REPORT_STYLE } from './report-style.ts';
import type { ReportTable } from './report-table.ts';
import { codeBookDrawing } from './svg-code-book.ts';
import { hatchings } from './svg-frame.ts';
import { laneDrawing, laneKey } from './svg-lanes.ts';
import { levelDrawing } from './svg-levels.ts';
import { stripeDrawing, stripeKey } from './svg-stripe.ts';
import { tableMarkup } from './table-markup.ts';

/** Tables longer than this are folded, to keep the page calm; a keypress opens them. */
const OPEN_ROWS = 24;

interface Chapter {
  readonly id: string;
  readonly title: string;
  readonly body: readonly Markup[];
}

export function reportHtml(report: TransferReport): string {
  const title = `Transfer report: ${report.tape.id}`;
  const chapters = chaptersOf(report);
  const links = chapters.map(({ id, title: name }) => el('li', {}, el('a', { href: `#${id}` }, name)));
  return htmlPage(
    title,
    REPORT_STYLE,
    el('a', { class: 'skip', href: '#proof' }, 'To the evidence'),
    hatchings(),
    el(
      'header',
      {},
      el('h1', {}, title),
      el('p', { class: 'first' }, report.sentence),
      ...report.statements.map(paragraph),
    ),
    el('nav', { 'aria-label': 'Chapters' }, el('ul', {}, links)),
    el(
      'main',
      {},
      chapters.map(({ id, title: name, body }) => section(id, name, body)),
    ),
  );
}

function chaptersOf(report: TransferReport): Chapter[] {
  const facts = tapeFacts(report).flatMap(([name, value]) => [el('dt', {}, name), el('dd', {}, value)]);
  const all: Chapter[] = [
    {
      id: 'proof',
      title: 'Proof',
      body: [...agreement(report), ...tables(tallyTable(report), agreementTable(report)), ...meaning(report)],
    },
    { id: 'tape', title: 'Tape and masters', body: [el('dl', {}, facts), ...tables(masterTable(report))] },
    { id: 'cautions', title: 'Cautions', body: bulletList(report.cautions) },
    {
      id: 'losses',
      title: 'Losses',
      body: [
        ...tables(placeTable(report), spanTable(report, 'lost'), spanTable(report, 'unproven')),
        ...lanes(report),
        ...tables(lossTable(report)),
      ],
    },
    {
      id: 'captures',
      title: 'Captures',
      body: tables(captureTable(report), partTable(report), carrierTable(report), problemTable(report)),
    },
    {
      id: 'alignment',
      title: 'Alignment',
      body: [
        ...tables(placementTable(report), slipTable(report), loopTable(report)),
        ...titled(
          'Refused joins',
          bulletList(report.refusedJoins.map((join) => `${join.captures.join(', ')}: ${join.reason}`)),
        ),
        ...titled('Sheet and samples disagree', bulletList(report.contradictions)),
        ...titled('Kept out of the master', bulletList(report.leftOut)),
      ],
    },
    {
      id: 'numbers',
      title: 'What the numbers say',
      body: [...tables(verdictTable(report), flagTable(report)), ...codeBooks(report), ...levels(report)],
    },
    {
      id: 'method',
      title: 'Method',
      body: [...tables(detectorTable(report)), ...titled('Detection limits', bulletList(report.detectionLimits))],
    },
    { id: 'provenance', title: 'Provenance and digests', body: tables(provenanceTable(report), digestTable(report)) },
  ];
  return all.filter(({ body }) => body.length > 0);
}

function agreement({ timelines, stripes }: TransferReport): Markup[] {
  const drawings = timelines.map((line) => {
    const own = stripes.filter((stripe) => stripe.group === line.group);
    return stripeDrawing(`stripe-${line.group}`, own, line.rate);
  });
  return [...perPart(timelines, drawings), stripeKey('stripe-key')];
}

function lanes({ timelines, lanes: all, captures }: TransferReport): Markup[] {
  if (all.length === 0) return [];
  const drawings = timelines.map((line) => {
    const own = all.filter((lane) => lane.group === line.group);
    return laneDrawing(`lanes-${line.group}`, own, captures, { frames: line.length, rate: line.rate });
  });
  return [el('h3', {}, 'Events of every read along time'), ...perPart(timelines, drawings), laneKey('lane-key', all)];
}

function perPart(timelines: readonly ReportTimeline[], drawings: readonly Markup[]): Markup[] {
  if (timelines.length < 2) return [...drawings];
  return drawings.flatMap((drawn, i) => [el('h3', {}, `Part ${timelines[i].group + 1}`), drawn]);
}

function levels({ levels: all, captures }: TransferReport): Markup[] {
  const drawings = all.map((histogram, i) => {
    const name = `${captures[histogram.capture].path}, file channel ${histogram.fileChannel}`;
    const peak = histogram.peakDb === null ? 'digital silence' : `peak ${histogram.peakDb.toFixed(2)} dBFS`;
    return el('figure', {}, el('figcaption', {}, `${name}: ${peak}`), levelDrawing(`levels-${i}`, name, histogram));
  });
  return folded('Level histograms (dBFS; counts by powers of ten)', drawings, 8, true);
}

function codeBooks({ codeBooks: all, captures }: TransferReport): Markup[] {
  const drawings = all.map((chart, i) => {
    const name = `${captures[chart.capture].path}, file channel ${chart.fileChannel}`;
    return el(
      'figure',
      {},
      el('figcaption', {}, `${name}: ${chart.answer}`),
      codeBookDrawing(`book-${i}`, name, chart),
    );
  });
  return folded('Code books', drawings, 2, false);
}

/** The first `open` drawings stand open, the others behind a fold. */
function folded(title: string, drawings: readonly Markup[], open: number, isHalf: boolean): Markup[] {
  if (drawings.length === 0) return [];
  const rest = drawings.slice(open);
  const pair = (some: readonly Markup[]) => el('div', { class: isHalf ? 'pair' : undefined }, ...some);
  const fold = rest.length ? [el('details', {}, el('summary', {}, `${rest.length} more`), pair(rest))] : [];
  return [el('h3', {}, title), pair(drawings.slice(0, open)), ...fold];
}

function meaning({ proof }: TransferReport): Markup[] {
  const words = Object.entries(proof.words).flatMap(([word, text]) => [el('dt', {}, word), el('dd', {}, text)]);
  return [
    el('h3', {}, 'What the words mean'),
    el('dl', {}, words),
    ...titled('What agreement cannot show', bulletList(proof.cannotShow)),
  ];
}

function titled(title: string, body: readonly Markup[]): Markup[] {
  return body.length ? [el('h3', {}, title), ...body] : [];
}

function paragraph(text: string): Markup {
  return el('p', {}, text);
}

function tables(...all: readonly ReportTable[]): Markup[] {
  return all.flatMap((data) => {
    if (data.rows.length === 0)
      return data.note ? [el('h3', {}, data.title), el('p', { class: 'note' }, data.note)] : [];
    const drawn = [tableMarkup(data), ...(data.note ? [el('p', { class: 'note' }, data.note)] : [])];
    if (data.rows.length <= OPEN_ROWS) return drawn;
    return [el('details', {}, el('summary', {}, `${data.title} (${data.rows.length} rows)`), ...drawn)];
  });
}
