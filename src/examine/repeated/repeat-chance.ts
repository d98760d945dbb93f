// How surprising each sample of a stretch is after those before it: the natural logarithm of one over its chance, from what a
// linear prediction misses nearby and from how far apart the values lie. Loud sound costs several a sample, a whisper of a few
// steps a fraction, a flat stretch nothing: so few steps need no rule of their own. Not for judging (repeat-judge.ts).

/** Samples whose liveliness is taken together. */
const PIECE = 64;
/** Median size of a logistic spread, in its scale. */
const MEDIAN = Math.log(3);
/** Scale of sound that stands still, in the distance of its values: it then costs nothing. */
const LEAST_SCALE = 0.07;
/** What lies farther out than so many scales counts as if it lay there: a jump between flat stretches is one jump, not a proof. */
const FARTHEST = 3.3;

/**
 * Nats per sample of the stretch that begins at `from` and is as long as `residual`, in steps; no sample costs more than one that has the chance
 * `leastChance`. `near` samples before and behind are asked how far apart values lie.
 */
export function surprises(
  samples: Int32Array,
  from: number,
  residual: Float64Array,
  { step, leastChance, near }: { readonly step: number; readonly leastChance: number; readonly near: number },
): Float64Array {
  const distances = distancesIn(samples.subarray(Math.max(0, from - near), from + residual.length + near));
  const costs = new Float64Array(residual.length);
  for (let at = 0; at < residual.length; at += PIECE) {
    const piece = residual.subarray(at, at + PIECE);
    const scale = scaleOf(piece);
    for (let i = 0; i < piece.length; i++) {
      const distance = Math.max(1, distances[octaveOf(samples[from + at + i])] / step);
      costs[at + i] = -Math.log(Math.max(leastChance, chanceOf(Math.abs(piece[i]), scale, distance)));
    }
  }
  return costs;
}

/** By the median, which a few jumps between flat stretches do not raise. */
function scaleOf(piece: Float64Array): number {
  const sizes = piece.map(Math.abs).sort();
  return sizes[sizes.length >> 1] / MEDIAN;
}

/** Chance of the value that lies `size` off what was predicted, where values lie `distance` apart. */
function chanceOf(size: number, spread: number, distance: number): number {
  const scale = Math.max(spread, LEAST_SCALE * distance);
  const off = Math.min(size, FARTHEST * scale);
  return logistic((off + distance / 2) / scale) - logistic((off - distance / 2) / scale);
}

function logistic(x: number): number {
  return 1 / (1 + Math.exp(-x));
}

/**
 * Per octave of each sign the largest power of two that all its differences share: in sound that went through a law the loud octaves have wide steps.
 * Where an octave shows one value, that of the next softer one that shows more, or of the next louder; 0 where none does.
 */
function distancesIn(samples: Int32Array): Int32Array {
  const firsts = new Int32Array(2 * OCTAVES);
  const differences = new Int32Array(2 * OCTAVES);
  const isKnown = new Uint8Array(2 * OCTAVES);
  for (const sample of samples) {
    const octave = octaveOf(sample);
    if (isKnown[octave]) differences[octave] |= sample - firsts[octave];
    else {
      isKnown[octave] = 1;
      firsts[octave] = sample;
    }
  }
  const distances = differences.map((or) => or & -or);
  fillUnknown(distances.subarray(0, OCTAVES));
  fillUnknown(distances.subarray(OCTAVES));
  return distances;
}

function fillUnknown(distances: Int32Array): void {
  let last = distances.find((distance) => distance > 0) ?? 0;
  for (let octave = 0; octave < distances.length; octave++) {
    if (distances[octave] > 0) last = distances[octave];
    else distances[octave] = last;
  }
}

const OCTAVES = 33;

function octaveOf(sample: number): number {
  return sample < 0 ? 2 * OCTAVES - 1 - Math.clz32(~sample) : OCTAVES - 1 - Math.clz32(sample);
}
