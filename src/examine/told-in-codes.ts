// Where a channel's companding law is sure, rows of means are judged in its codes, with chances counted there (code-book/). In samples
// the wide steps of a law look like rows as well: such a row is only kept where some of its samples lie outside the book, as they do
// where a deck counts after the expansion. Not for sound whose law nobody can tell.
import { type Span, spanEnd } from '../base/index.ts';
import type { Finding, Verdict } from './finding.ts';

/** Findings in any order. */
export function toldInCodes(findings: readonly Finding[], verdicts: readonly Verdict[]): Finding[] {
  const companded = verdicts.filter(isLawSure).map(({ channel }) => channel);
  if (companded.length === 0) return [...findings];
  const offBook = findings.filter(({ detector, unit }) => detector === 'code-book' && unit === OUTSIDE);
  return findings.filter(
    (finding) =>
      finding.kind !== 'interpolated' ||
      finding.detector === 'code-book' ||
      !finding.channels.every((channel) => companded.includes(channel)) ||
      offBook.some((one) => finding.channels.includes(one.channels[0]) && overlap(one, finding)),
  );
}

/** What code-book/ says of samples that the law cannot produce. */
const OUTSIDE = 'samples outside the book';

function isLawSure({ question, answer, evidence }: Verdict): boolean {
  return question === 'code-book' && evidence.isCompanded === true && answer !== 'cannot tell';
}

function overlap(a: Span, b: Span): boolean {
  return a.start < spanEnd(b) && b.start < spanEnd(a);
}
