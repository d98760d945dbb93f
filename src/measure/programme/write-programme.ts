// The test programme as blocks of integer samples: triangular dither of one step everywhere but in the silences, the same samples
// for the same rate and word length whatever the size of the blocks. Not for files (tasks/).
import { type Block, emptyBlock, rateHz, spanEnd } from '../../base/index.ts';
import { Random } from '../../signal/index.ts';
import type { ProgrammePlan, Section } from './plan.ts';
import { amplitude, waveOf } from './waveform.ts';

export const PROGRAMME_CHANNELS = 2;
const DITHER_SEED = 17;

export interface PlacedSection {
  readonly section: Section;
  readonly start: number;
  readonly length: number;
}

export function programmeFrames(plan: ProgrammePlan): number {
  return Math.round(plan.seconds * rateHz(plan.rate));
}

export function* programmeBlocks(plan: ProgrammePlan, blockFrames = 65_536): Generator<Block> {
  const placed = placeSections(plan);
  const dither = Array.from({ length: PROGRAMME_CHANNELS }, (_, c) => new Random(DITHER_SEED).fork(`channel ${c + 1}`));
  const total = programmeFrames(plan);
  let first = 0;
  for (let at = 0; at < total; at += blockFrames) {
    const block = emptyBlock(at, PROGRAMME_CHANNELS, Math.min(blockFrames, total - at));
    const end = at + block.frames;
    while (first < placed.length && spanEnd(placed[first]) <= at) first++;
    for (let k = first; k < placed.length && placed[k].start < end; k++) fillSection(block, placed[k], plan, dither);
    yield block;
  }
}

export function placeSections(plan: ProgrammePlan): PlacedSection[] {
  const hz = rateHz(plan.rate);
  return plan.sections.map((section) => {
    const start = Math.round(section.start * hz);
    return { section, start, length: Math.round((section.start + section.length) * hz) - start };
  });
}

function fillSection(block: Block, placed: PlacedSection, plan: ProgrammePlan, dither: readonly Random[]): void {
  const { section, start } = placed;
  const { sound } = section;
  if (sound.kind === 'silence') return;
  const hz = rateHz(plan.rate);
  const wave = waveOf(section);
  const top = 2 ** (plan.bits - 1);
  const impulse = sound.kind === 'impulses' ? impulseFrames(sound.everySeconds, sound.count, hz) : undefined;
  const from = Math.max(start, block.start);
  const to = Math.min(spanEnd(placed), block.start + block.frames);
  for (let n = from; n < to; n++) {
    const value = impulse ? (impulse.has(n - start) ? amplitude(levelOf(section)) : 0) : wave((n - start) / hz);
    for (let c = 0; c < PROGRAMME_CHANNELS; c++) {
      if (section.channel !== 0 && section.channel !== c + 1) continue;
      const x = Math.floor(value * top + dither[c].triangular() + 0.5);
      block.planes[c][n - block.start] = Math.max(-top, Math.min(top - 1, x));
    }
  }
}

function impulseFrames(everySeconds: number, count: number, hz: number): Set<number> {
  return new Set(Array.from({ length: count }, (_, k) => Math.round((k + 1) * everySeconds * hz)));
}

/** Highest peak of a section, dB below full scale; for the list people read. */
export function levelOf(section: Section): number {
  const { sound } = section;
  switch (sound.kind) {
    case 'silence':
      return Number.NEGATIVE_INFINITY;
    case 'pilot':
      return -12;
    case 'tones':
      return Math.min(0, 20 * Math.log10(sound.tones.reduce((sum, tone) => sum + amplitude(tone.levelDb), 0)));
    case 'fade':
      return sound.fromDb;
    case 'sweep':
    case 'impulses':
      return sound.levelDb;
  }
}
