// Charts from the evidence of verdicts: level histograms ("peak-level") and code books ("code-book"). Evidence is plain JSON
// that a later detector may shape otherwise: what does not fit is left out, never guessed.
import type { JsonValue } from '../base/index.ts';
import type { Verdict } from '../examine/index.ts';
import { findLaw } from '../tape/index.ts';
import type { CodeBookChart, CodeBookPoint, LevelHistogram, ReportCapture } from './report-model.ts';

/** One histogram per file channel. Evidence counts per dB from full scale downwards, the last bin with all that is quieter. */
export function levelHistograms(captures: readonly ReportCapture[]): LevelHistogram[] {
  return fromVerdicts(captures, 'peak-level', (verdict, capture): LevelHistogram | undefined => {
    const counts = numbers(verdict.evidence.histogramDb);
    if (!counts || counts.length < 2) return undefined;
    const audible = counts.slice(0, -1).reverse();
    return {
      capture,
      fileChannel: verdict.channel,
      fromDb: -audible.length,
      stepDb: 1,
      counts: audible,
      below: counts[counts.length - 1],
      peakDb: typeof verdict.answer === 'number' ? verdict.answer : null,
    };
  });
}

/** Companded channels first: their charts are what one looks for. */
export function codeBookCharts(captures: readonly ReportCapture[]): CodeBookChart[] {
  const charts = fromVerdicts(captures, 'code-book', (verdict, capture) => codeBookChart(verdict, capture, captures));
  const rank = (chart: CodeBookChart) => (chart.answer === 'linear' ? 1 : 0);
  return charts.sort((a, b) => rank(a) - rank(b));
}

function codeBookChart(
  { channel, answer, evidence }: Verdict,
  capture: number,
  captures: readonly ReportCapture[],
): CodeBookChart | undefined {
  const { chart, bestLaw, isCompanded } = evidence;
  if (typeof chart !== 'object' || chart === null || Array.isArray(chart)) return undefined;
  const parts = chart as { readonly [key: string]: JsonValue };
  const measured = pairs(parts.spacing).map(([magnitude, spacing]) => ({ magnitude, spacing }));
  const nearZero = pairs(parts.nearZero).map(([value, count]) => ({ value, count }));
  if (measured.length === 0 && nearZero.length === 0) return undefined;
  const bits = captures[capture].containerBits;
  const law = isCompanded === true && typeof bestLaw === 'string' ? lawPoints(bestLaw, bits, measured) : [];
  return { capture, fileChannel: channel, bits, answer: String(answer), measured, law, nearZero };
}

/** Corners of the law's staircase in container steps; empty for a law that is not known here. */
function lawPoints(id: string, bits: number, measured: readonly CodeBookPoint[]): CodeBookPoint[] {
  const law = lawOrNothing(id);
  if (!law) return [];
  const scale = 2 ** Math.min(Math.max(0, bits - law.linearBits), unusedBits(measured));
  const end = 2 ** (law.linearBits - 1);
  return law.segments.flatMap(({ from, step }, i) => {
    const to = law.segments[i + 1]?.from ?? end;
    const spacing = step * scale;
    return [
      { magnitude: Math.max(1, from * scale), spacing },
      { magnitude: to * scale, spacing },
    ];
  });
}

function lawOrNothing(id: string) {
  try {
    return findLaw(id);
  } catch {
    return undefined;
  }
}

/** Low bits that no measured distance uses: how far the recorded word stands to the left in the container. */
function unusedBits(points: readonly CodeBookPoint[]): number {
  const used = points.reduce((bits, { magnitude, spacing }) => bits | magnitude | spacing, 0);
  return used === 0 ? 0 : 31 - Math.clz32(used & -used);
}

function fromVerdicts<T>(
  captures: readonly ReportCapture[],
  question: string,
  make: (verdict: Verdict, capture: number) => T | undefined,
): T[] {
  return captures.flatMap(({ verdicts }, capture) =>
    verdicts.flatMap((verdict) => {
      const made = verdict.question === question && verdict.channel > 0 ? make(verdict, capture) : undefined;
      return made === undefined ? [] : [made];
    }),
  );
}

function numbers(value: JsonValue | undefined): readonly number[] | undefined {
  if (!Array.isArray(value)) return undefined;
  return value.every((item) => typeof item === 'number') ? (value as readonly number[]) : undefined;
}

function pairs(value: JsonValue | undefined): (readonly [number, number])[] {
  if (!Array.isArray(value)) return [];
  return value.flatMap((item) => {
    const pair = numbers(item as JsonValue);
    return pair && pair.length === 2 ? [[pair[0], pair[1]] as const] : [];
  });
}
