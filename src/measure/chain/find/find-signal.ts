// Finds the test signal in a capture of any length: at a few places first, until one cell is known by its name. The rest follows from
// there (walk.ts). Says clearly why there is nothing to judge.
import {
  type Block,
  type FrameSource,
  formatRate,
  type Progress,
  rateHz,
  type StopSignal,
  sameRate,
  TapeproofError,
  throwIfStopped,
} from '../../../base/index.ts';
import { CELL_FRAMES, type ChainSignal, LEAST_CELLS, SIGNAL_BITS, SIGNAL_VERSION } from '../layout.ts';
import { type Mark, markScanner, searchResampler } from './mark-scan.ts';
import { isBorneOut, type Seed } from './places.ts';
import { likelyRatios } from './ratios.ts';
import { cellGuesser, namedCell, wordReader } from './read-cell.ts';

export interface FoundSeeds {
  readonly signal: ChainSignal;
  /** frames captured for each frame sent, to a thousandth */
  readonly ratio: number;
  readonly seeds: readonly Seed[];
}

export interface FindOptions {
  /** what was sent; without it the capture's own words say it */
  readonly signal?: ChainSignal | undefined;
  readonly stop?: StopSignal | undefined;
  readonly progress?: Progress | undefined;
}

/** Chance alone gives 0.16 once in millions of places. */
const LEAST_MARK = 0.2;
/** Of 2304 chips: chance gives 0.02. */
const LEAST_WORDS = 0.13;
export async function findSeeds(capture: FrameSource, options: FindOptions): Promise<FoundSeeds> {
  const facts = { hasSound: false, other: undefined as ChainSignal | undefined };
  const ratios = likelyRatios(capture.info.rate, options.signal?.rate);
  for (const ratio of ratios) {
    const found = await searchAt(capture, ratio, options, facts);
    if (found) return found;
    if (!facts.hasSound) break;
  }
  throw nothingFound(capture, options.signal, facts);
}

interface SearchFacts {
  hasSound: boolean;
  other: ChainSignal | undefined;
}

async function searchAt(
  capture: FrameSource,
  ratio: number,
  { signal, stop, progress }: FindOptions,
  facts: SearchFacts,
): Promise<FoundSeeds | undefined> {
  const { frames, rate } = capture.info;
  const scanner = markScanner(ratio);
  const nameAt = namer(capture, signal, ratio, facts);
  // the shortest signal is met at two places and more
  const hop = Math.floor((LEAST_CELLS * CELL_FRAMES * ratio) / 3);
  for (let start = 0; start < frames; start += hop) {
    throwIfStopped(stop);
    const block = await capture.read(start, scanner.windowFrames);
    facts.hasSound ||= block.planes.some((plane) => plane.some((x) => x !== plane[0]));
    const named: Named[] = [];
    for (const [channel, plane] of block.planes.entries()) {
      for (const mark of scanner.scan(plane)) {
        const one = Math.abs(mark.likeness) < LEAST_MARK ? undefined : await nameAt(block, channel, mark);
        if (one && (named.length === 0 || isSame(one.signal, named[0].signal))) named.push(one);
      }
    }
    progress?.({ stage: 'looking for the signal', done: start, total: frames, unit: 'frames', rateHz: rateHz(rate) });
    if (named.length > 0) {
      return { signal: named[0].signal, ratio, seeds: named.map(({ seed }) => seed) };
    }
  }
  return undefined;
}

interface Named {
  readonly signal: ChainSignal;
  readonly seed: Seed;
}

/** Names the cell at a mark; undefined where the words say nothing, name another signal or, without a right checksum, are not borne out by the hiss after them. */
function namer(capture: FrameSource, signal: ChainSignal | undefined, ratio: number, facts: SearchFacts) {
  const reader = wordReader(searchResampler(ratio));
  const guess = signal ? cellGuesser(signal) : undefined;
  return async (block: Block, channel: number, mark: Mark): Promise<Named | undefined> => {
    const words = reader.read(block.planes[channel], mark.frame, ratio, mark.source);
    if (!words) return undefined;
    const name = namedCell(words);
    const isUsed = name !== undefined && isUsable(name.signal);
    if (isUsed && signal && !isSame(name.signal, signal)) {
      facts.other = name.signal;
      return undefined;
    }
    const likely = guess?.(words);
    const cell = isUsed ? name.cell : likely && Math.abs(likely.likeness) >= LEAST_WORDS ? likely.cell : undefined;
    const named = isUsed ? name.signal : signal;
    if (cell === undefined || named === undefined) return undefined;
    const { source, frame, likeness } = mark;
    const seed = { channel, source, cell, frame: block.start + frame, likeness };
    // a checksum that fits needs no witness; a mere likeness does
    return isUsed || (await isBorneOut(capture, named, ratio, seed)) ? { signal: named, seed } : undefined;
  };
}

export function isSame(a: ChainSignal, b: ChainSignal): boolean {
  return a.version === b.version && a.bits === b.bits && a.cells === b.cells && sameRate(a.rate, b.rate);
}

function isUsable({ version, bits, cells }: ChainSignal): boolean {
  return version === SIGNAL_VERSION && SIGNAL_BITS.includes(bits) && cells >= LEAST_CELLS;
}

export function describeSignal({ bits, rate, cells }: ChainSignal): string {
  return `the chain signal of ${bits} bits, ${formatRate(rate)}, ${cells} cells`;
}

function nothingFound(capture: FrameSource, sent: ChainSignal | undefined, facts: SearchFacts): TapeproofError {
  const { name, frames, rate } = capture.info;
  const expected = sent ? describeSignal(sent) : 'the signal that `tapeproof signal chain` writes';
  if (!facts.hasSound) {
    return new TapeproofError('input', 'the capture is silent: every sample has the same value', {
      path: name,
      expected,
      found: `${frames} frames of silence`,
      next: 'check the cable, the input that was chosen and the record level, and capture again',
    });
  }
  if (facts.other) {
    return new TapeproofError('input', 'the capture holds another chain signal than the one that was sent', {
      path: name,
      expected,
      found: describeSignal(facts.other),
      next: 'give the file that was played, or the capture alone: its signal is then made anew from its name',
    });
  }
  return new TapeproofError('input', 'the chain signal is not in this capture', {
    path: name,
    expected,
    found: `${(frames / rateHz(rate)).toFixed(1)} s in which no part of it is known again`,
    next: 'the capture must hold the signal itself, at its own speed within half a per cent or converted to a usual rate; check the file, or capture again and longer',
  });
}
