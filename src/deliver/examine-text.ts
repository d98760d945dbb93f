// The examine document as text for people: per file what it is, what the numbers say, what is lost where, what could not
// be seen. Prints the document, judges nothing.
import { formatRate, formatTime, secondsOf, spanEnd } from '../base/index.ts';
import type { Finding, Verdict } from '../examine/index.ts';
import { CARRIER_COLUMNS, carrierRows } from './carrier-rows.ts';
import type { ExamineDocument, ExaminedFile } from './documents.ts';
import { failedTexts } from './failed-text.ts';
import { interfaceText } from './interface-rows.ts';
import { isKindOfLoss, lostFramesOf } from './kinds.ts';
import {
  countOf,
  formatChannels,
  formatConfidence,
  formatDuration,
  formatValue,
  shortDigest,
  visibleText,
} from './plain-words.ts';
import { left, right } from './report-table.ts';
import { captureName, PART_COLUMNS, partRows, problemText, readWithText } from './take-rows.ts';
import { type TextColumn, textTable, wrapText } from './text-table.ts';

/** Findings listed one by one in each file. */
const MOST_FINDINGS = 10;
const MOST_PASSED_OVER = 10;
/** Verdicts everybody asks for, in this order; the others follow as they come. */
const FIRST_QUESTIONS = ['recorded', 'word-length', 'code-book'];
/** Units of numbers that would be unclear without. */
const UNITS: { readonly [question: string]: string } = {
  loudness: ' LUFS',
  'true-peak': ' dBTP',
  'peak-level': ' dBFS',
};

const wide = (header: string): TextColumn => ({ header, flexible: true });

export function examineText(document: ExamineDocument): string {
  const files = document.files.map(fileText);
  const failed = failedTexts(document.failed, 'not read');
  return `${[...files, ...failed, ...passedOverText(document)].join('\n\n')}\n`;
}

function passedOverText({ passedOver = [] }: ExamineDocument): string[] {
  if (passedOver.length === 0) return [];
  const names = passedOver.slice(0, MOST_PASSED_OVER).join(', ');
  const rest = passedOver.length - MOST_PASSED_OVER;
  return [wrapText(`Passed over, no audio: ${names}${rest > 0 ? ` and ${rest} more` : ''}`, { hang: 2 })];
}

function fileText(file: ExaminedFile): string {
  const parts = [
    headText(file),
    block('Parts', textTable(PART_COLUMNS, partRows(file), { indent: 4 })),
    block('Problems', problemTable(file)),
    block('Tape', textTable([...CARRIER_COLUMNS], carrierRows(file), { indent: 4 })),
    block('Channels', verdictTable(file)),
    block('The interface', file.interface ? interfaceText(file.interface, file.rate) : ''),
    block('Losses', lossTable(file)),
    block('Other events', otherTable(file)),
    block('Longest losses', longestTable(file)),
    block('Not examined', declinedTable(file)),
    block('Detection limits', limitLines(file)),
  ];
  return parts.filter((part) => part !== '').join('\n\n');
}

function headText(file: ExaminedFile): string {
  const { container, rate, channels, frames, containerBits, readAs, digests, findings } = file;
  const length = `${formatTime(frames, rate)} (${frames} frames)`;
  const losses = findings.filter((finding) => isKindOfLoss(finding.kind)).length;
  const facts = `${container}, ${countOf(channels, 'channel')}, ${containerBits} bit, ${formatRate(rate)}, ${length}, read ${readAs === 'whole' ? 'as a whole' : 'only in part'}`;
  const sums = `SHA-256 of the file ${shortDigest(digests.file.sha256)}, of the audio ${shortDigest(digests.audio.sha256)}`;
  const seen = losses ? `${countOf(losses, 'loss', 'losses')} seen` : 'no loss seen (see the detection limits)';
  const how = readWithText(file);
  const lines = [facts, ...(how === '' ? [] : [how]), sums, seen];
  return [wrapText(captureName(file)), ...lines.map((text) => wrapText(text, { indent: 2, hang: 2 }))].join('\n');
}

function block(title: string, body: string): string {
  return body === '' ? '' : `  ${title}\n${body}`;
}

function problemTable({ problems }: ExaminedFile): string {
  const rows = problems.map((problem) => [
    problem.severity,
    problem.offset === undefined ? '-' : `${problem.offset}`,
    problemText(problem),
  ]);
  return textTable([left('severity'), right('byte'), wide('problem')], rows, { indent: 4 });
}

/** One row per channel with the questions everybody asks, then the other verdicts one by one. */
function verdictTable({ verdicts, channels }: ExaminedFile): string {
  const find = (channel: number, question: string) =>
    verdicts.find((verdict) => verdict.channel === channel && verdict.question === question);
  const questions = FIRST_QUESTIONS.filter((question) => verdicts.some((verdict) => verdict.question === question));
  const rows = Array.from({ length: channels }, (_, i) => [
    `${i + 1}`,
    ...questions.map((question) => answerText(find(i + 1, question))),
  ]);
  const others = verdicts
    .filter(({ question, channel }) => !FIRST_QUESTIONS.includes(question) || channel === 0)
    .map((verdict) => [channelName(verdict.channel), verdict.question, answerText(verdict)]);
  const first = questions.length
    ? textTable([right('channel'), ...questions.map((question) => left(question.replaceAll('-', ' ')))], rows, {
        indent: 4,
      })
    : '';
  const rest = textTable([left('channel'), left('question'), wide('answer')], others, { indent: 4 });
  return [first, rest].filter((text) => text !== '').join('\n\n');
}

function answerText(verdict: Verdict | undefined): string {
  if (!verdict) return '-';
  const unit = typeof verdict.answer === 'number' ? (UNITS[verdict.question] ?? '') : '';
  return `${formatValue(verdict.answer)}${unit} (${formatConfidence(verdict.confidence)})`;
}

function channelName(channel: number): string {
  return channel === 0 ? 'all' : `${channel}`;
}

function lossTable(file: ExaminedFile): string {
  return countTable(file, (finding) => isKindOfLoss(finding.kind));
}

function otherTable(file: ExaminedFile): string {
  return countTable(file, (finding) => !isKindOfLoss(finding.kind));
}

function countTable({ findings, rate }: ExaminedFile, keep: (finding: Finding) => boolean): string {
  const counts = new Map<string, { channel: number; kind: string; count: number; frames: number; chance: number }>();
  for (const finding of findings.filter(keep)) {
    for (const channel of finding.channels.length ? finding.channels : [0]) {
      const key = `${channel} ${finding.kind}`;
      const { count = 0, frames = 0, chance = 0 } = counts.get(key) ?? {};
      const most = Math.max(chance, finding.expectedByChance);
      counts.set(key, {
        ...{ channel, kind: finding.kind, count: count + 1, chance: most },
        frames: frames + lostFramesOf(finding),
      });
    }
  }
  const order = [...counts.values()].sort((a, b) => a.channel - b.channel || (a.kind < b.kind ? -1 : 1));
  const rows = order.map(({ channel, kind, count, frames, chance }) => [
    channelName(channel),
    kind,
    `${count}`,
    `${frames}`,
    secondsOf(frames, rate).toFixed(4),
    formatValue(chance),
  ]);
  const columns = [
    right('channel'),
    left('kind'),
    right('events'),
    right('frames'),
    right('s'),
    right('most by chance'),
  ];
  return textTable(columns, rows, { indent: 4 });
}

function longestTable({ findings, rate }: ExaminedFile): string {
  const losses = findings.filter((finding) => isKindOfLoss(finding.kind));
  const longest = [...losses].sort((a, b) => b.length - a.length || a.start - b.start).slice(0, MOST_FINDINGS);
  const rows = longest
    .sort((a, b) => a.start - b.start)
    .map((finding) => [
      formatTime(finding.start, rate),
      `${finding.start}-${spanEnd(finding) - 1}`,
      formatDuration(finding.length, rate),
      finding.kind,
      formatChannels(finding.channels),
      formatConfidence(finding.confidence),
    ]);
  const columns = [left('at'), right('frames'), right('length'), left('kind'), wide('channels'), right('sure')];
  const table = textTable(columns, rows, { indent: 4 });
  const rest = losses.length - longest.length;
  return rest > 0 ? `${table}\n    and ${countOf(rest, 'more loss', 'more losses')}; --json lists all` : table;
}

function declinedTable({ detectors = [] }: ExaminedFile): string {
  const rows = detectors.flatMap(({ label, notApplicable }) => (notApplicable ? [[label, notApplicable]] : []));
  return textTable([left('detector'), wide('why not')], rows, { indent: 4 });
}

/** Each limit once, with the channels it holds for. */
function limitLines({ verdicts }: ExaminedFile): string {
  const limits = new Map<string, number[]>();
  for (const { question, detectionLimit, channel } of verdicts) {
    if (detectionLimit === '') continue;
    const text = `${question}: ${visibleText(detectionLimit)}`;
    limits.set(text, [...(limits.get(text) ?? []), channel]);
  }
  return [...limits]
    .map(([text, channels]) => {
      const where = channels.includes(0) ? '' : ` (${formatChannels(channels)})`;
      return wrapText(`${text}${where}`, { indent: 4, hang: 2 });
    })
    .join('\n');
}
