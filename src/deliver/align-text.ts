// The align document as text for people: where each capture lies, slips, loops that do not add up, and what would help
// where a join was refused. Prints the document, judges nothing.
import type { AlignDocument, AlignedCapture } from './documents.ts';
import { countOf, formatShare } from './plain-words.ts';
import { left, right } from './report-table.ts';
import { type TextColumn, textTable, wrapText } from './text-table.ts';

/** Segments and slips listed one by one. */
const MOST_ROWS = 40;

const wide = (header: string): TextColumn => ({ header, flexible: true });

export function alignText(document: AlignDocument): string {
  const parts = [
    wrapText(`Reference: ${document.reference} (its frame 0 is timeline frame 0)`),
    captureTable(document),
    block('Why', reasonLines(document)),
    block('Segments (offset: timeline frame minus capture frame)', segmentTable(document)),
    block('Slips', slipTable(document)),
    block('Loops that do not add up', loopTable(document)),
    block(
      'Damaged or incomplete files',
      (document.problems ?? []).map((line) => wrapText(line, { indent: 2, hang: 2 })).join('\n'),
    ),
  ];
  return `${parts.filter((part) => part !== '').join('\n\n')}\n`;
}

function block(title: string, body: string): string {
  return body === '' ? '' : `${title}\n${body}`;
}

function captureTable({ captures }: AlignDocument): string {
  const hasParts = new Set(captures.map((capture) => capture.group)).size > 1;
  const rows = captures.map((capture) => [
    capture.path,
    ...(hasParts ? [`${capture.group + 1}`] : []),
    capture.relation,
    capture.segments.length ? `${capture.segments[0].offset}` : '-',
    capture.uncertaintyFrames === null
      ? '-'
      : capture.uncertaintyFrames === 0
        ? 'exact'
        : `± ${capture.uncertaintyFrames}`,
    capture.driftPpm === null ? '-' : `${Number(capture.driftPpm.toFixed(4))}`,
    equalText(capture),
  ]);
  const columns = [
    wide('file'),
    ...(hasParts ? [right('part')] : []),
    left('relation'),
    right('offset'),
    right('frames'),
    right('ppm'),
  ];
  return textTable([...columns, right('equal')], rows);
}

function equalText({ comparedFrames, differingFrames }: AlignedCapture): string {
  return comparedFrames ? formatShare(comparedFrames - differingFrames, comparedFrames) : '-';
}

function reasonLines({ captures }: AlignDocument): string {
  return captures
    .map(({ path, method, reason }) =>
      wrapText(`${path}: ${[method, reason].filter(Boolean).join('; ')}`, { indent: 2, hang: 2 }),
    )
    .join('\n');
}

/** Only where a capture has more than one segment: one segment is the offset above. */
function segmentTable({ captures }: AlignDocument): string {
  const rows = captures
    .filter(({ segments }) => segments.length > 1)
    .flatMap(({ path, segments }) => segments.map((s) => [path, `${s.start}`, `${s.length}`, `${s.offset}`]));
  return cut(rows, [wide('file'), right('from frame'), right('frames'), right('offset')], 'segment');
}

function slipTable({ slips }: AlignDocument): string {
  const rows = slips.map((slip) => [
    slip.path,
    `${slip.at}`,
    slip.lostFrames > 0
      ? `${countOf(slip.lostFrames, 'sample')} lost`
      : `${countOf(-slip.lostFrames, 'sample')} repeated`,
    slip.reason,
  ]);
  return cut(rows, [wide('file'), right('at frame'), left('what'), wide('reason')], 'slip');
}

function loopTable({ loops }: AlignDocument): string {
  const rows = loops.map((loop) => [loop.paths.join(', '), `${loop.excessFrames}`, `${loop.at}`, loop.reason]);
  return cut(rows, [wide('captures'), right('excess frames'), right('at frame'), wide('reason')], 'loop');
}

function cut(rows: readonly (readonly string[])[], columns: readonly TextColumn[], one: string): string {
  const table = textTable(columns, rows.slice(0, MOST_ROWS), { indent: 2 });
  const rest = rows.length - MOST_ROWS;
  return rest > 0 ? `${table}\n  and ${countOf(rest, `more ${one}`)}; --json lists all` : table;
}
