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

/** `margin` seconds are left out at both ends (negative: taken in addition). Frames the capture does not have are zero. */
export async function readStretch(
  source: FrameSource,
  place: Placement,
  section: Section,
  margin: number,
): Promise<Stretch> {
  const first = Math.ceil(place.frameOf(section.start + margin));
  const frames = Math.max(0, Math.floor(place.frameOf(section.start + section.length - margin)) - first);
  const block = await source.read(first, frames);
  const scale = 2 ** (1 - source.info.bits);
  const planes = block.planes.map((plane) => {
    const out = new Float64Array(frames);
    for (let n = 0; n < block.frames; n++) out[n + block.start - first] = plane[n] * scale;
    return out;
  });
  const from = margin + (first - place.frameOf(section.start + margin)) / place.framesPerSecond;
  return { planes, from, perSecond: place.framesPerSecond };
}
