// Sound that was made at a lower rate and drawn out with straight lines looks like concealment for as long as it lasts. Where samples
// of its lattice lie beside the lines it is not what a deck does, which draws all of them: said once, and not as a loss. Where none does,
// one of two heads may be lost for that long (formats.md 4.8, 5.6: every second sample is then a mean) and nobody can tell: said once
// as well, as a loss. Not for bursts, nor for single lines.
import { spanEnd } from '../base/index.ts';
import type { Finding } from './finding.ts';

/** Samples beside the lines, in the middle half of a lattice, and their share. Measured on the tuning half: of 826 lattices that a simulated deck
 * made none has any; in sound drawn out by its makers they are 3 to 8 in 100. */
const FEWEST_BESIDE = 3;
const BESIDE_SHARE = 0.01;
/** Pauses and quiet passages in which a lattice cannot be seen; after a longer stretch, up to its own length. */
const LONGEST_GAP = 8192;
/** No burst lasts so long: a second or more at every rate of the formats. Own choice. */
const LASTING = 65_536;
/** Share of a lasting stretch that shows the lattice. */
const SEEN_SHARE = 0.5;
/** Neither the one nor the other is likelier. */
const CANNOT_TELL = 0.5;

interface Lattice {
  readonly finding: Finding;
  readonly replaced: number;
  readonly besideShare: number;
  /** of the first sample of each pair where every second one is replaced */
  readonly parity: number | undefined;
}

/** Findings in any order. */
export function lastingLattices(findings: readonly Finding[]): Finding[] {
  const runs = runsOf(findings.flatMap((finding) => latticeOf(finding) ?? []));
  const lasting = runs.filter(isLasting);
  const stated = new Map<Finding, Finding>();
  for (const run of runs) {
    const said = isBesideLines(run) ? madeOfLines(run) : lasting.includes(run) ? lostOrMade(run, lasting) : undefined;
    if (said) for (const { finding } of run) stated.set(finding, said);
  }
  return [...new Set(findings.map((finding) => stated.get(finding) ?? finding))];
}

function latticeOf(finding: Finding): Lattice | undefined {
  const { period, pattern, replaced, besideShare } = finding.detail;
  if (finding.kind !== 'interpolated' || typeof pattern !== 'string' || typeof period !== 'number') return undefined;
  if (typeof replaced !== 'number' || typeof besideShare !== 'number' || period < 2) return undefined;
  const parity = /^(?:x\.)+$/.test(pattern) ? finding.start % 2 : undefined;
  return { finding, replaced, besideShare, parity };
}

/** Lattices of a channel that follow each other on the same samples. */
function runsOf(lattices: readonly Lattice[]): Lattice[][] {
  const inOrder = [...lattices].sort(
    (a, b) => a.finding.channels[0] - b.finding.channels[0] || a.finding.start - b.finding.start,
  );
  const runs: Lattice[][] = [];
  for (const next of inOrder) {
    const last = runs.at(-1)?.at(-1);
    const isNext =
      last !== undefined &&
      last.finding.channels[0] === next.finding.channels[0] &&
      last.finding.detector === next.finding.detector &&
      last.parity !== undefined &&
      last.parity === next.parity &&
      next.finding.start - spanEnd(last.finding) <= Math.max(LONGEST_GAP, last.finding.length);
    if (isNext) runs.at(-1)?.push(next);
    else runs.push([next]);
  }
  return runs;
}

function sumOf(run: readonly Lattice[], value: (lattice: Lattice) => number): number {
  return run.reduce((sum, lattice) => sum + value(lattice), 0);
}

function besideShareOf(run: readonly Lattice[]): number {
  return sumOf(run, ({ besideShare, replaced }) => besideShare * replaced) / sumOf(run, ({ replaced }) => replaced);
}

function extentOf(run: readonly Lattice[]) {
  const start = run[0].finding.start;
  return { start, length: Math.max(...run.map(({ finding }) => spanEnd(finding))) - start };
}

function isBesideLines(run: readonly Lattice[]): boolean {
  const beside = sumOf(run, ({ besideShare, replaced }) => (besideShare * replaced) / 2);
  return beside >= FEWEST_BESIDE && besideShareOf(run) >= BESIDE_SHARE;
}

function isLasting(run: readonly Lattice[]): boolean {
  const { length } = extentOf(run);
  return length >= LASTING && sumOf(run, ({ finding }) => finding.length) >= SEEN_SHARE * length;
}

function madeOfLines(run: readonly Lattice[]): Finding {
  const said = oneOf(run);
  return {
    ...said,
    kind: 'straight-lines',
    detail: {
      ...said.detail,
      cause: `made at ${run[0].parity === undefined ? 'a lower' : 'half the'} rate with straight lines between, or changed after a loss: a deck leaves no sample beside the lines`,
    },
  };
}

/** A lost head shows in the other channel of a DAT as well, on the other samples. */
function lostOrMade(run: readonly Lattice[], lasting: readonly (readonly Lattice[])[]): Finding {
  const said = oneOf(run);
  const other = lasting.find((one) => one[0].finding.channels[0] !== said.channels[0] && isBeside(one, run));
  if (other && other[0].parity !== run[0].parity) {
    const cause = `one of two heads lost: channel ${other[0].finding.channels[0]} has lost the other samples`;
    return { ...said, detail: { ...said.detail, cause } };
  }
  const cause =
    'cannot tell one of two heads lost for so long from sound made at half the rate with straight lines between';
  return { ...said, confidence: CANNOT_TELL, detail: { ...said.detail, cause } };
}

/** At the same time, for the most part. */
function isBeside(other: readonly Lattice[], run: readonly Lattice[]): boolean {
  const [a, b] = [extentOf(other), extentOf(run)];
  return 2 * (Math.min(spanEnd(a), spanEnd(b)) - Math.max(a.start, b.start)) >= b.length;
}

/** All of a run in one finding. */
function oneOf(run: readonly Lattice[]): Finding {
  const findings = run.map(({ finding }) => finding);
  const log10Chances = findings.map(({ detail }) => (typeof detail.log10Chance === 'number' ? detail.log10Chance : 0));
  const replaced = sumOf(run, (one) => one.replaced);
  return {
    ...findings[0],
    ...extentOf(run),
    measured: replaced,
    expectedByChance: Math.min(...findings.map(({ expectedByChance }) => expectedByChance)),
    detail: {
      ...findings[0].detail,
      ...(run[0].parity === undefined ? {} : { period: 2, pattern: 'x.' }),
      replaced,
      misses: findings.reduce((sum, { detail }) => sum + Number(detail.misses), 0),
      besideShare: Math.round(1000 * besideShareOf(run)) / 1000,
      log10Chance: Math.round(10 * log10Chances.reduce((sum, one) => sum + one, 0)) / 10,
      stretches: findings.length,
    },
  };
}
