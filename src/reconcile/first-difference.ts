// The hot kernel: where do reads first differ? Nearly every frame of a good tape passes through here and nothing else.

/** First index in [from, to) at which any plane differs from the first; `to` when all are equal. */
export function firstDifference(planes: readonly Int32Array[], from: number, to: number): number {
  let end = to;
  for (let r = 1; r < planes.length; r++) end = firstOfPair(planes[0], planes[r], from, end);
  return end;
}

function firstOfPair(a: Int32Array, b: Int32Array, from: number, to: number): number {
  let i = from;
  while (i < to && a[i] === b[i]) i++;
  return i;
}
