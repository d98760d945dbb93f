// Which chirps make pilots, and which pilots make one programme: coarse place and speed. Not for the last fraction of a frame (placement.ts).

import { rate } from '../../base/index.ts';
import {
  CHIRP_SECONDS,
  chirpStarts,
  DOWN_SHIFT_SECONDS,
  type PilotName,
  readPilotCode,
  UP_SHIFT_SECONDS,
} from '../programme/pilot.ts';
import { PROGRAMME_BITS, PROGRAMME_RATES, type ProgrammePlan, programmePlan } from '../programme/plan.ts';
import type { Chirp } from './chirp-search.ts';

export interface Pilot {
  readonly name: PilotName;
  readonly code: number;
  /** frame of the first chirp, as the search places it */
  readonly frame: number;
  readonly likeness: number;
}

export interface FoundProgramme {
  readonly plan: ProgrammePlan;
  readonly pilots: readonly [Pilot, Pilot, Pilot];
  /** frames of the capture per frame at the labelled rate */
  readonly stretch: number;
  /** coarse frame of the programme's start */
  readonly start: number;
}

/** All triples up, down, up at the right distances. `speed` as in the search. */
export function findPilots(chirps: readonly Chirp[], rateHz: number, speed: number): Pilot[] {
  const [first, second] = chirpStarts(0);
  const found: Pilot[] = [];
  const ups = chirps.filter((chirp) => chirp.way === 'up');
  for (const down of chirps) {
    if (down.way !== 'down') continue;
    for (const up of ups) {
      const apart = ((down.frame - up.frame) / rateHz) * speed;
      // a stretch k moves both ends: apart = k (second - first) + (k - 1) (DOWN - UP)
      const k =
        (apart + DOWN_SHIFT_SECONDS - UP_SHIFT_SECONDS) / (second - first + DOWN_SHIFT_SECONDS - UP_SHIFT_SECONDS);
      if (!(k > 0.7 && k < 1.4)) continue;
      for (const last of ups) {
        const gap = (((last.frame - up.frame) / rateHz) * speed) / k - (second - first) - CHIRP_SECONDS;
        const read = gap > 0 && gap < 0.5 ? readPilotCode(gap) : undefined;
        if (!read) continue;
        found.push({ ...read, frame: up.frame, likeness: Math.min(up.likeness, down.likeness, last.likeness) });
      }
    }
  }
  return found.sort((a, b) => a.frame - b.frame);
}

/** The best start, middle and end whose distances agree with each other; undefined where there are none. */
export function joinPilots(pilots: readonly Pilot[], rateHz: number, speed: number): FoundProgramme | undefined {
  let best: (FoundProgramme & { readonly likeness: number }) | undefined;
  for (const start of pilots.filter((p) => p.name === 'start')) {
    for (const end of pilots.filter((p) => p.name === 'end' && p.frame > start.frame)) {
      const plan = programmePlan(rate(PROGRAMME_RATES[start.code]), PROGRAMME_BITS[end.code]);
      const [a, b, c] = plan.sections.filter((section) => section.group === 'pilot').map((section) => section.start);
      const stretch = (end.frame - start.frame) / rateHz / (c - a);
      if (!(stretch > 0.4 && stretch < 2.5)) continue;
      const expected = start.frame + (b - a) * stretch * rateHz;
      const middle = pilots
        .filter((p) => p.name === 'middle' && Math.abs(p.frame - expected) < 0.05 * rateHz)
        .sort((p, q) => q.likeness - p.likeness)[0];
      if (!middle) continue;
      const likeness = Math.min(start.likeness, middle.likeness, end.likeness);
      const at = chirpStarts(0)[0] + a;
      const first = start.frame - (at * stretch + ((stretch * speed - 1) / speed) * UP_SHIFT_SECONDS) * rateHz;
      if (!best || likeness > best.likeness)
        best = { plan, pilots: [start, middle, end], stretch, start: first, likeness };
    }
  }
  return best;
}
