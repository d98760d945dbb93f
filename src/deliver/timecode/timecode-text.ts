// The document of `timecode` as text for people, and each word as comma-separated values. Prints, judges nothing.
import { formatTime, type Rate, rateHz } from '../../base/index.ts';
import type { SectionSummary } from '../../signal/index.ts';
import { csvText } from '../csv.ts';
import { failedTexts } from '../failed-text.ts';
import { countOf, formatChannels, formatDuration, formatShare, formatValue } from '../plain-words.ts';
import { left, right } from '../report-table.ts';
import { type TextColumn, textTable, wrapText } from '../text-table.ts';
import type { TimecodeChannel, TimecodeDocument, TimecodeFile } from './timecode-document.ts';

/** Rows of each table; --json lists all. */
const MOST_ROWS = 40;

const wide = (header: string): TextColumn => ({ header, flexible: true });

export function timecodeText(document: TimecodeDocument): string {
  const files = document.files.map(fileText);
  const failed = failedTexts(document.failed, 'not read');
  return `${[...files, ...failed].join('\n\n')}\n`;
}

const CSV_HEAD = 'path,channel,start,end,timecode,direction,user_bits,drop,colour_frame,even_zeros'.split(',');

/** One line a word; places are samples of the file, with fractions. */
export function timecodeCsv({ files }: TimecodeDocument): string {
  const rows = files.flatMap(({ path, channels }) =>
    channels.flatMap(({ channel, eachWord = [] }) =>
      eachWord.map((word) => [
        path,
        `${channel}`,
        word.start.toFixed(3),
        word.end.toFixed(3),
        word.timecode,
        word.isReverse ? 'reverse' : 'forward',
        word.userBits,
        `${Number(word.isDrop)}`,
        `${Number(word.isColourFrame)}`,
        `${Number(word.hasEvenZeros)}`,
      ]),
    ),
  );
  return csvText([CSV_HEAD, ...rows]);
}

function fileText(file: TimecodeFile): string {
  const { path, channels, without } = file;
  const none = without.length ? [wrapText(`No timecode found: ${formatChannels(without)}`, { indent: 2 })] : [];
  return [wrapText(path), ...channels.map((channel) => channelText(channel, file)), ...none].join('\n');
}

function channelText(channel: TimecodeChannel, { rate }: TimecodeFile): string {
  const lines = [
    `Channel ${channel.channel}: linear timecode, ${rateText(channel)}, ${channel.from} to ${channel.to}`,
    wordsLine(channel),
    `User bits ${channel.userBits.first} (${channel.userBits.use})${changesText(channel)}; colour-frame flag ${channel.isColourFrame ? 'set' : 'not set'}; polarity bit right in ${formatShare(channel.evenShare, 1)} of the words`,
    `By chance random bits would give ${formatValue(channel.expectedByChance)} pairs of words that confirm each other`,
  ];
  const [head, ...rest] = lines;
  return [
    wrapText(head, { indent: 2, hang: 2 }),
    ...rest.map((text) => wrapText(text, { indent: 4, hang: 2 })),
    block('Sections', sectionTable(channel, rate)),
    block('Map', mapTable(channel)),
    block('Jumps and turns', jumpTable(channel, rate)),
    block('Gaps (the code goes on behind them)', gapTable(channel, rate)),
  ]
    .filter((text) => text !== '')
    .join('\n');
}

function block(title: string, body: string): string {
  return body === '' ? '' : `    ${title}\n${body}`;
}

function rateText({ count, isDrop, isCountSeen, nominal, candidates, nominalBecause }: TimecodeChannel): string {
  const numbered = `${count} frames a second${isDrop ? ' with drop' : ''}${isCountSeen ? '' : ' (no second was seen to turn)'}`;
  const rates = (nominal ? [nominal] : candidates).map(framesText).join(' or ');
  return `${numbered}, made for ${rates} (${nominalBecause})`;
}

function framesText(rate: Rate): string {
  return rate.den === 1
    ? `${rate.num}`
    : rateHz(rate)
        .toFixed(3)
        .replace(/\.?0+$/, '');
}

function wordsLine({ words, missing, unconfirmed }: TimecodeChannel): string {
  const parts = [`${countOf(words, 'word')} read`];
  if (missing) parts.push(`${missing} between them not readable`);
  if (unconfirmed) parts.push(`${unconfirmed} put aside because no neighbour confirms them`);
  return parts.join(', ');
}

function changesText({ userBits: { changes, values } }: TimecodeChannel): string {
  if (changes === 0) return ', the same throughout';
  const others = values.slice(1, 4).map(({ value }) => value);
  return `, changing ${countOf(changes, 'time')} (next ${others.join(', ')}${changes > others.length ? ', ...' : ''})`;
}

function sectionTable({ sections }: TimecodeChannel, rate: Rate): string {
  const rows = sections.map((section) => [
    formatTime(Math.round(section.start), rate),
    section.from,
    section.to,
    `${section.words}`,
    `${section.missing}`,
    section.kind === 'still' ? 'still' : section.direction,
    section.speed === null ? '-' : `${section.speed.toFixed(section.ppm === null ? 3 : 6)}`,
    clockText(section),
  ]);
  const columns = [left('at'), left('from'), left('to'), right('words'), right('missing'), left('way'), right('speed')];
  return cut(rows, [...columns, wide('clock against the file')], 'section');
}

function clockText({ clock, ppm, ppmError, residual }: SectionSummary): string {
  if (ppm === null || ppmError === null) {
    return clock === 'varying' && residual !== null ? `varying, ${residual.toFixed(1)} samples off a line` : clock;
  }
  // 1001/1000, the step between the picture rates: a header that names the rate of the other system.
  const hint = Math.abs(Math.abs(ppm) - 1000) < 5 ? '; as if the rate in the header were 1001/1000 off' : '';
  return `${clock}, ${ppm.toFixed(3)} ± ${ppmError.toFixed(3)} ppm${hint}`;
}

/** Two corners are a straight line; more are said by their number. */
function mapTable({ sections }: TimecodeChannel): string {
  const rows = sections
    .filter(({ map }) => map.length > 1)
    .map(({ map, samplesPerFrame, mapTolerance }) => {
      const [first, last] = [map[0], map[map.length - 1]];
      return [
        first.timecode,
        first.at.toFixed(2),
        last.timecode,
        last.at.toFixed(2),
        samplesPerFrame === null ? '-' : samplesPerFrame.toFixed(5),
        map.length === 2
          ? `within ${mapTolerance.toFixed(1)}`
          : `${map.length - 1} lines, within ${mapTolerance.toFixed(1)}`,
      ];
    });
  const columns = [
    left('frame'),
    right('begins at sample'),
    left('frame'),
    right('at sample'),
    right('samples a frame'),
  ];
  return cut(rows, [...columns, wide('straight')], 'section');
}

function jumpTable({ jumps }: TimecodeChannel, rate: Rate): string {
  const rows = jumps.map(({ at, kind, from, to, frames, unreadFrames }) => [
    formatTime(Math.round(at), rate),
    `${Math.round(at)}`,
    kind === 'turn' ? 'turns round' : kind === 'stop' ? 'stands still' : kind === 'start' ? 'runs again' : 'jumps',
    from,
    to,
    frames === null ? '-' : `${frames > 0 ? '+' : ''}${frames}`,
    unreadFrames >= 1 ? formatDuration(Math.round(unreadFrames), rate) : '-',
  ]);
  const columns = [left('at'), right('sample'), left('what'), left('from'), left('to'), right('frames')];
  return cut(rows, [...columns, right('unread before')], 'jump');
}

function gapTable({ gaps }: TimecodeChannel, rate: Rate): string {
  const rows = gaps.map(({ start, end, missing }) => [
    formatTime(Math.round(start), rate),
    `${Math.round(start)}`,
    formatDuration(Math.round(end - start), rate),
    `${missing}`,
  ]);
  return cut(rows, [left('at'), right('sample'), right('length'), right('words missing')], 'gap');
}

function cut(rows: readonly (readonly string[])[], columns: readonly TextColumn[], one: string): string {
  const table = textTable(columns, rows.slice(0, MOST_ROWS), { indent: 6 });
  const rest = rows.length - MOST_ROWS;
  return rest > 0 ? `${table}\n      and ${countOf(rest, `more ${one}`)}; --json lists all` : table;
}
