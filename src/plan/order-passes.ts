// The order in which the passes are run; it costs nothing and helps: early passes bring every channel and programme once, so that a tape
// which fails has been read as far as possible; then as little is moved and repatched as can be.
import type { RawPass } from './spell-out.ts';

export function orderPasses(passes: readonly RawPass[]): RawPass[] {
  const left = [...passes];
  const out: RawPass[] = [];
  const counts = new Map<string, number>();
  const keysOf = ({ programme, taken }: RawPass) => {
    const mask = taken.reduce((all, option) => all | (option?.channels ?? 0), 0);
    return Array.from({ length: 31 }, (_, at) => at)
      .filter((at) => (mask >> at) & 1)
      .map((at) => `${programme},${at}`);
  };
  const score = (pass: RawPass): readonly number[] => {
    const had = keysOf(pass).map((key) => counts.get(key) ?? 0);
    const fresh = had.filter((count) => count === 0).length;
    const last = out.at(-1);
    return [
      -fresh,
      had.reduce((sum, count) => sum + count, 0) / had.length,
      last && last.route !== pass.route ? 1 : 0,
      last ? changes(last, pass) : 0,
      pass.programme,
    ];
  };
  while (left.length > 0) {
    const next = left.reduce((best, pass) => (isLess(score(pass), score(best)) ? pass : best));
    left.splice(left.indexOf(next), 1);
    out.push(next);
    for (const key of keysOf(next)) counts.set(key, (counts.get(key) ?? 0) + 1);
  }
  return out;
}

function isLess(a: readonly number[], b: readonly number[]): boolean {
  const at = a.findIndex((value, i) => value !== b[i]);
  return at >= 0 && a[at] < b[at];
}

/** Cables that must be moved. */
function changes(before: RawPass, after: RawPass): number {
  if (before.route !== after.route) return Number.POSITIVE_INFINITY;
  const cables = ({ taken }: RawPass) =>
    taken.flatMap((option, recorder) =>
      (option?.links ?? []).map(({ output, input }) => `${output},${recorder},${input}`),
    );
  const old = new Set(cables(before));
  return cables(after).filter((cable) => !old.has(cable)).length;
}
