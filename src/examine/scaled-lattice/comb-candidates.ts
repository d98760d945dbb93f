// The combs that would put a line where one was found. Not for choosing among them (lattice-fit.ts).
import type { Range } from './level-range.ts';
import type { Line } from './line-spectrum.ts';

/** standard deviations */
const SLACK = 4;

export interface Comb {
  readonly spacing: number;
  readonly uncertainty: number;
}

/** Levels that hold all but one in ten samples: what the position of a line rests on. */
export function bulkOf({ counts, samples }: Range): number {
  let low = 0;
  for (let sum = counts[0]; low < counts.length && sum < samples / 20; sum += counts[low]) low++;
  let high = counts.length - 1;
  for (let sum = counts[high]; high > low && sum < samples / 20; sum += counts[high]) high--;
  return Math.max(16, high - low);
}

/** Every spacing that would put a line where one was found; with each, the simplest fraction that cannot be told from it:
 * where multiples fall exactly between two levels, nothing but the exact fraction rounds them all alike. */
export function combsOf(values: Float64Array, lines: readonly Line[], lowest: number, length: number): Comb[] {
  const found = new Map<string, Comb>();
  for (const line of lines) {
    const frequency = refined(values, line.frequency);
    // Of a line in white residue: sigma of its frequency = sqrt(6 / power) / (2 pi length).
    const sigma = Math.sqrt(6 / line.power) / (2 * Math.PI * length);
    for (const { inverse, order } of candidatesOf(frequency, lowest)) {
      const spacing = 1 / inverse;
      const uncertainty = (SLACK * sigma * spacing * spacing) / order;
      if (!found.has(inverse.toPrecision(5))) found.set(inverse.toPrecision(5), { spacing, uncertainty });
      const simple = simplestFraction(spacing, uncertainty);
      if (simple !== undefined) found.set(simple.toPrecision(9), { spacing: simple, uncertainty });
    }
  }
  return [...found.values()];
}

/** By continued fractions; denominators up to 1000. */
export function simplestFraction(value: number, within: number): number | undefined {
  let [p, q, lastP, lastQ] = [1, 0, 0, 1];
  for (let rest = value, n = 0; n < 20; n++) {
    const whole = Math.floor(rest);
    [p, lastP] = [whole * p + lastP, p];
    [q, lastQ] = [whole * q + lastQ, q];
    if (q > 1000) return undefined;
    if (Math.abs(value - p / q) <= within) return p / q;
    if (rest === whole) return undefined;
    rest = 1 / (rest - whole);
  }
  return undefined;
}

/** Gains from 0.45 up whose line lies at this frequency; for wide combs also those with a second or third harmonic there. */
function candidatesOf(frequency: number, lowest: number): { inverse: number; order: number }[] {
  const found: { inverse: number; order: number }[] = [];
  for (let order = 1; order <= 3; order++) {
    for (let turns = 0; turns <= 3; turns++) {
      for (const inverse of [(turns + frequency) / order, (turns - frequency) / order]) {
        // Whole numbers of source levels for each level leave every level alike; slower patterns than `lowest` were not looked for.
        const beat = inverse > 0.5 ? Math.abs(inverse - Math.round(inverse)) : inverse;
        if (inverse <= (order === 1 ? 2.2 : 0.5) && beat >= lowest / order) found.push({ inverse, order });
      }
    }
  }
  return found;
}

/** The top of the line between two bins, by golden section; the combs are polished afterwards. */
function refined(values: Float64Array, frequency: number): number {
  const ratio = (Math.sqrt(5) - 1) / 2;
  let width = 0.5 / values.length;
  let low = frequency - width;
  let [p, q] = [frequency + width - ratio * 2 * width, low + ratio * 2 * width];
  let [atP, atQ] = [powerAt(values, p), powerAt(values, q)];
  for (let n = 0; n < REFINEMENTS; n++) {
    width *= ratio;
    if (atP > atQ) {
      [q, atQ] = [p, atP];
      p = low + (1 - ratio) * 2 * width;
      atP = powerAt(values, p);
    } else {
      low = p;
      [p, atP] = [q, atQ];
      q = low + ratio * 2 * width;
      atQ = powerAt(values, q);
    }
  }
  return low + width;
}

/** The last width is a thousandth of a bin. */
const REFINEMENTS = 14;

function powerAt(values: Float64Array, frequency: number): number {
  const turnC = Math.cos(2 * Math.PI * frequency);
  const turnS = Math.sin(2 * Math.PI * frequency);
  let c = 1;
  let s = 0;
  let re = 0;
  let im = 0;
  for (let i = 0; i < values.length; i++) {
    re += values[i] * c;
    im += values[i] * s;
    const next = c * turnC - s * turnS;
    s = s * turnC + c * turnS;
    c = next;
  }
  return re * re + im * im;
}
