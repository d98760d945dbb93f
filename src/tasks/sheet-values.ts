// Short ways of writing on a sheet: "1-8" for numbers, "2 GiB" for sizes, "30k-50k" for ranges of rates. Text to values, nothing else.
import { parseRate, rateHz, TapeproofError } from '../base/index.ts';

/** [1, 2, 5], 3, "1-8" or "1, 3-5" as numbers from 1 to `highest`; undefined for anything else, also for a number that comes twice. */
export function numbersOf(value: unknown, highest: number): number[] | undefined {
  const list = typeof value === 'string' ? spelled(value, highest) : Array.isArray(value) ? value : [value];
  const fits = (one: unknown) => Number.isInteger(one) && Number(one) >= 1 && Number(one) <= highest;
  if (!list || list.length === 0 || !list.every(fits) || new Set(list).size < list.length) return undefined;
  return list.map(Number);
}

function spelled(text: string, highest: number): number[] | undefined {
  const out: number[] = [];
  for (const part of text.split(',')) {
    const match = /^\s*(\d{1,4})\s*(?:(?:-|\u2013|to)\s*(\d{1,4})\s*)?$/.exec(part);
    if (!match) return undefined;
    const [from, to] = [Number(match[1]), Number(match[2] ?? match[1])];
    if (to < from || to > highest) return undefined;
    for (let one = from; one <= to; one++) out.push(one);
  }
  return out;
}

const UNITS: Readonly<Record<string, number>> = { '': 1, k: 1e3, m: 1e6, g: 1e9, t: 1e12 };
const BINARY_UNITS: Readonly<Record<string, number>> = { k: 2 ** 10, m: 2 ** 20, g: 2 ** 30, t: 2 ** 40 };

/** "2 GiB", "64 GB" or a number of bytes; undefined for anything else. */
export function bytesOf(value: unknown): number | undefined {
  if (typeof value === 'number') return value >= 1 ? Math.floor(value) : undefined;
  if (typeof value !== 'string') return undefined;
  const match = /^\s*(\d+(?:\.\d+)?)\s*([kmgt]?)(i?)b?\s*$/i.exec(value);
  if (!match || (match[3] && !match[2])) return undefined;
  const unit = (match[3] ? BINARY_UNITS : UNITS)[match[2].toLowerCase()];
  const bytes = Math.floor(Number(match[1]) * unit);
  return bytes >= 1 ? bytes : undefined;
}

/** "48000", "44.1k" or "30k-50k" in hertz; undefined for anything else. */
export function rateRangeOf(value: unknown): { readonly lowHz: number; readonly highHz: number } | undefined {
  const [low, high = low, ...more] = String(value).split(/-|\u2013|\bto\b/);
  const [lowHz, highHz] = [hertzOf(low), hertzOf(high)];
  if (more.length > 0 || lowHz === undefined || highHz === undefined || highHz < lowHz) return undefined;
  return { lowHz, highHz };
}

function hertzOf(text: string): number | undefined {
  try {
    return rateHz(parseRate(text));
  } catch (error) {
    if (error instanceof TapeproofError) return undefined;
    throw error;
  }
}
