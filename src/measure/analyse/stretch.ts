// One section of the programme as it lies in a capture: all channels as fractions of full scale, with the programme's own time. The only place
// where captured integers become fractions.
import type { FrameSource } from '../../base/index.ts';
import type { Placement } from '../locate/placement.ts';
import type { Section } from '../programme/plan.ts';

export interface Stretch {
  readonly planes: readonly Float64Array[];
  /** programme seconds within the section of the first frame */
  readonly from: number;
  /** frames per programme second */
  readonly perSecond: number;
}

/** Each channel from its own start, to the whole frame. `margin` seconds are left out at both ends (negative: taken in addition). Frames the capture does not have are zero. */
export async function readStretch(
  source: FrameSource,
  place: Placement,
  section: Section,
  margin: number,
): Promise<Stretch> {
  // a read may begin before the capture: what it does not have is zero
  const first = Math.ceil(place.frameOf(section.start + margin));
  const frames = Math.max(0, Math.floor(place.frameOf(section.start + section.length - margin)) - first);
  const [early, late] = [Math.min(...place.delays), Math.max(...place.delays)];
  const block = await source.read(first + early, frames + late - early);
  const scale = 2 ** (1 - source.info.bits);
  const planes = block.planes.map((plane, c) => {
    const out = new Float64Array(frames);
    const shift = first + place.delays[c] - block.start;
    for (let n = Math.max(0, -shift); n < frames && n + shift < block.frames; n++) out[n] = plane[n + shift] * scale;
    return out;
  });
  const from = margin + (first - place.frameOf(section.start + margin)) / place.framesPerSecond;
  return { planes, from, perSecond: place.framesPerSecond };
}
