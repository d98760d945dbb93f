// The JSON document of `rate` and its text: the header's claim, the evidence, the answer, and where the rate changes. Judges nothing.
import { formatRate, formatTime, type Rate, type Span, spanEnd } from '../base/index.ts';
import type { RateAnswer, RateChange, RateEvidence } from '../examine/index.ts';
import { countOf, formatConfidence } from './plain-words.ts';
import { left, right, wide } from './report-table.ts';
import { textTable, wrapText } from './text-table.ts';

export interface RateDocument {
  readonly schema: 'tapeproof/rate@1';
  readonly path: string;
  readonly header: Rate;
  readonly frames: number;
  readonly answer: RateAnswer;
  readonly evidence: readonly RateEvidence[];
  /** places at which all channels stand still, where a change could hide */
  readonly gaps: number;
  readonly stretches: readonly (Span & { readonly rate: Rate | null })[];
  /** heard in the tones of the recording */
  readonly changes: readonly RateChange[];
  /** by the flags of a status log: claims, at their frames */
  readonly flaggedChanges: readonly { readonly at: number; readonly before: string; readonly after: string }[];
  readonly limits: readonly string[];
}

export function rateText(document: RateDocument): string {
  const { path, header, answer, evidence, changes, flaggedChanges, stretches, limits } = document;
  const rows = evidence.map((one) => [one.kind, one.isClaim ? 'claim' : 'evidence', one.text, one.assumes]);
  const blocks = [
    wrapText(`${path}: the header says ${formatRate(header)}. ${answerText(answer)}`, { hang: 2 }),
    textTable([left('kind'), left('counts as'), wide('what it says'), wide('if')], rows),
    changes.length ? changeLines(document).join('\n') : '',
    flaggedChanges
      .map(
        ({ at, before, after }) =>
          `The flagged rate changes at ${formatTime(at, header)} (frame ${at}): ${before} to ${after}.`,
      )
      .join('\n'),
    changes.length
      ? textTable(
          [left('from'), left('to'), right('frames'), left('rate')],
          stretches.map((one) => [
            formatTime(one.start, header),
            formatTime(spanEnd(one), header),
            `${one.start}-${spanEnd(one) - 1}`,
            one.rate ? formatRate(one.rate) : 'cannot tell',
          ]),
        )
      : '',
    limits.map((text) => wrapText(`- ${text}`, { hang: 2 })).join('\n'),
  ];
  return `${blocks.filter((block) => block !== '').join('\n\n')}\n`;
}

function answerText({ rate, ppm, uncertaintyPpm, confidence, because }: RateAnswer): string {
  if (ppm === null) return `The true rate cannot be told: ${because}.`;
  const apart = `${ppm >= 0 ? '+' : ''}${ppm.toFixed(0)} ppm (+-${(uncertaintyPpm ?? 0).toFixed(0)}) against the header`;
  if (!rate) return `True rate: ${apart} (${formatConfidence(confidence)} sure): ${because}.`;
  if (Math.abs(ppm) < 1) return `True rate: as the header says (${formatConfidence(confidence)} sure): ${because}.`;
  return `TRUE RATE: ${formatRate(rate)}, ${apart} (${formatConfidence(confidence)} sure): ${because}.`;
}

function changeLines({ changes, header }: RateDocument): string[] {
  const head = `The rate changes ${countOf(changes.length, 'time')} along the file:`;
  const lines = changes.map(({ at, orAt, before, after }) => {
    const places = [...orAt, at].map((one) => `${formatTime(one, header)} (frame ${one})`);
    return wrapText(`at ${places.join(' or ')}: ${formatRate(before)} to ${formatRate(after)}`, { indent: 2, hang: 2 });
  });
  return [head, ...lines];
}
