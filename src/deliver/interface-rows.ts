// What the interface said, as rows for `examine` and the report: the flags by stretch, contradictions, remarks and the deck's habit with
// the validity bit. Only the flags that were set or that people ask for; the JSON has every field.
import { formatTime, type Rate, spanEnd } from '../base/index.ts';
import type { InterfaceReading } from '../examine/index.ts';
import { formatConfidence } from './plain-words.ts';
import { left, right, wide } from './report-table.ts';
import { type TextColumn, textTable, wrapText } from './text-table.ts';

/** Said even when they are zero. */
const ALWAYS = ['use', 'rate', 'emphasis', 'copy', 'word', 'category'];
const MOST_STRETCHES = 20;

export const FLAG_COLUMNS: readonly TextColumn[] = [right('channel'), left('from'), left('to'), wide('flags')];

export function flagRows({ stretches }: InterfaceReading, rate: Rate): string[][] {
  return stretches
    .slice(0, MOST_STRETCHES)
    .map((stretch) => [
      stretch.channel === 0 ? 'all' : `${stretch.channel}`,
      formatTime(stretch.start, rate),
      formatTime(spanEnd(stretch), rate),
      flagsText(stretch.block.values),
    ]);
}

export function flagsText(values: InterfaceReading['stretches'][number]['block']['values']): string {
  return values
    .filter(({ key, code }) => ALWAYS.includes(key) || code !== 0)
    .map(({ key, label, words }) => (key === 'use' ? words : `${label} ${words}`))
    .join('; ');
}

/** One sentence each: contradictions, remarks, habits. */
export function interfaceLines(reading: InterfaceReading, rate: Rate): string[] {
  const { contradictions, remarks, validity, stretches } = reading;
  const rest = stretches.length - MOST_STRETCHES;
  return [
    ...(rest > 0 ? [`${rest} more stretches of flags; --json has all`] : []),
    ...contradictions.map((one) => `CONTRADICTION from ${formatTime(one.start, rate)}: ${one.text}${sureText(one)}`),
    ...remarks.map((text) => `remark: ${text}`),
    ...validity.map((one) => {
      const agreement = one.agreementPercent === null ? '' : `; agreement ${one.agreementPercent} %`;
      const channel = one.channel === 0 ? 'all channels' : `channel ${one.channel}`;
      const sure = one.habit === 'cannot tell' ? '' : ` (${formatConfidence(one.confidence)})`;
      return `validity bit, ${channel}: the deck sets it ${habitWords(one.habit)}${sure}: ${one.reason}${agreement}`;
    }),
  ];
}

/** A header is a claim like the flag; only samples are a measurement. */
function sureText({ about, confidence }: InterfaceReading['contradictions'][number]): string {
  if (about === 'rate') return ' (two claims: `rate` measures it)';
  if (about === 'check' || about === 'channels') return '';
  return ` (the measurement is ${formatConfidence(confidence)} sure)`;
}

function habitWords(habit: InterfaceReading['validity'][number]['habit']): string {
  if (habit === 'cannot tell') return 'in a way that cannot be told';
  if (habit === 'any error') return 'on any error';
  if (habit === 'uncorrectable only') return 'where it could not correct';
  return habit === 'unrelated' ? 'without relation to the concealment that was seen' : 'never';
}

export function interfaceText(reading: InterfaceReading, rate: Rate): string {
  const table = textTable(FLAG_COLUMNS, flagRows(reading, rate), { indent: 4 });
  const lines = interfaceLines(reading, rate).map((text) => wrapText(text, { indent: 4, hang: 2 }));
  return [table, ...lines].filter((text) => text !== '').join('\n');
}
