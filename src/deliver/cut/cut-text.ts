// The documents of `cut` as text for people. Prints, judges nothing.
import type { CutLine } from '../../assemble/index.ts';
import { formatTime } from '../../base/index.ts';
import { countOf, formatDuration, formatSeconds, shortDigest } from '../plain-words.ts';
import { left, right } from '../report-table.ts';
import { type TextColumn, textTable, wrapText } from '../text-table.ts';
import type { CutParts, CutProposals } from './cut-document.ts';

const wide = (header: string): TextColumn => ({ header, flexible: true });

const CAUTION =
  'Proposed from what was measured: a pause in the music may look like a gap, and recordings that follow each other without one may not. Listen at each place and change the list.';

export function cutProposalsText({ masters, lines, list }: CutProposals): string {
  const parts = masters.map((master, m) => {
    const own = lines.filter((line) => line.master === m);
    const cuts = own.filter(({ isCut }) => isCut);
    const marks = own.filter(({ isCut }) => !isCut);
    const code = master.codeChannels.length ? `, timecode on channel ${master.codeChannels.join(', ')}` : '';
    return [
      wrapText(
        `${master.path}: ${countOf(cuts.length, 'programme')} proposed in ${formatSeconds(master.frames, master.rate)}${code}`,
      ),
      lineTable(cuts, master, own),
      marks.length ? `  Marked only\n${lineTable(marks, master, own)}` : '',
    ]
      .filter((text) => text !== '')
      .join('\n');
  });
  const next =
    list === null
      ? 'With --write cuts.yaml (or .csv) this becomes a list to change; `tapeproof cut --list cuts.yaml --out DIR` cuts by it.'
      : `Written: ${list}. Change it, then: tapeproof cut --list ${list} --out DIR`;
  return `${[...parts, wrapText(CAUTION), wrapText(next)].join('\n\n')}\n`;
}

function lineTable(
  lines: readonly CutLine[],
  { rate, frames }: CutProposals['masters'][number],
  all: readonly CutLine[],
): string {
  const sets = new Set(all.map(({ channels }) => channels.join()));
  const rows = lines.map((line) => {
    const later = all.filter(
      ({ isCut, start, channels }) => isCut && start > line.start && channels.join() === line.channels.join(),
    );
    const end = later.reduce((least, { start }) => Math.min(least, start), frames);
    return [
      formatTime(line.start, rate),
      `${line.start}`,
      ...(line.isCut ? [formatDuration(end - line.start, rate)] : []),
      ...(sets.size > 1 ? [line.channels.join(' ')] : []),
      line.sureness,
      [line.title, line.why].filter((text) => text !== '').join(': '),
    ];
  });
  const isCut = lines[0]?.isCut ?? true;
  const columns = [left('at'), right('frame'), ...(isCut ? [right('length')] : [])];
  if (sets.size > 1) columns.push(left('channels'));
  return textTable([...columns, left('sure'), wide('why')], rows, { indent: 2 });
}

export function cutPartsText({ folder, masters, items, checks, marked }: CutParts): string {
  const rows = items.map(({ path, start, frames, master, channels, title, digests }) => [
    path,
    formatTime(start, masters[master].rate),
    formatDuration(frames, masters[master].rate),
    channels.join(' '),
    shortDigest(digests.audio.sha256),
    title,
  ]);
  const table = textTable(
    [left('part'), left('from'), right('length'), left('channels'), left('audio SHA-256'), wide('title')],
    rows,
    { indent: 2 },
  );
  const equal = checks.map(({ master, parts, frames, samplesSha256 }) => {
    const { path, isDigestKnown } = masters[master];
    const known = isDigestKnown
      ? 'the master is the one the list was made for'
      : 'the list names no digest of the master, so it was not checked that it is the same';
    return wrapText(
      `${path}: ${countOf(parts, 'part')}, read again and put together, are its ${frames} frames sample for sample (SHA-256 of the samples ${shortDigest(samplesSha256)}); ${known}.`,
      { indent: 2, hang: 2 },
    );
  });
  const copies = marked.map((path) => wrapText(`Copy with every place marked: ${path}`, { indent: 2, hang: 2 }));
  return `${[`In ${folder}`, table, ...equal, ...copies].join('\n')}\n`;
}
