// The straight line from one clock to another, through measured points some of which may be wrong.

/** other = own * slope + offset. */
export interface TimeMap {
  readonly slope: number;
  readonly offset: number;
}

export interface TimePoint {
  readonly own: number;
  readonly other: number;
}

export interface FittedMap extends TimeMap {
  /** points used and points put aside */
  readonly used: number;
  readonly aside: number;
  /** standard deviation of the slope, and of `other` at the worst of the used points' ends */
  readonly slopeError: number;
  readonly error: number;
}

export function mapFrame(map: TimeMap, own: number): number {
  return own * map.slope + map.offset;
}

/** One line through the points: median of pairwise slopes near `slope` (within `range`), then least squares of the near points. */
export function fitMap(points: readonly TimePoint[], slope: number, range: number, reach: number): FittedMap | null {
  if (points.length === 0) return null;
  const robust = points.length < 3 ? { slope, offset: middleOffset(points, slope) } : robustLine(points, slope, range);
  const near = points.filter((p) => Math.abs(p.other - mapFrame(robust, p.own)) <= reach);
  if (near.length === 0) return null;
  const line = near.length < 3 ? { ...robust, offset: middleOffset(near, robust.slope) } : leastSquares(near);
  return { ...line, ...errorsOf(near, line), used: near.length, aside: points.length - near.length };
}

function middleOffset(points: readonly TimePoint[], slope: number): number {
  return middle(points.map((p) => p.other - slope * p.own));
}

function robustLine(points: readonly TimePoint[], slope: number, range: number): TimeMap {
  const slopes: number[] = [];
  for (const [n, a] of points.entries()) {
    for (const b of points.slice(n + 1)) {
      const s = (b.other - a.other) / (b.own - a.own);
      if (Math.abs(s - slope) <= range) slopes.push(s);
    }
  }
  const candidates = [slope, ...(slopes.length > 0 ? [middle(slopes)] : [])].map((s) => ({
    slope: s,
    offset: middleOffset(points, s),
  }));
  return candidates.reduce((best, c) => (medianDistance(points, c) < medianDistance(points, best) ? c : best));
}

function medianDistance(points: readonly TimePoint[], map: TimeMap): number {
  return middle(points.map((p) => Math.abs(p.other - mapFrame(map, p.own))));
}

/** Worked with the difference from slope 1, so that positions of 10^8 frames keep their fractions. */
function leastSquares(points: readonly TimePoint[]): TimeMap {
  const mx = points.reduce((sum, p) => sum + p.own, 0) / points.length;
  const md = points.reduce((sum, p) => sum + (p.other - p.own), 0) / points.length;
  let xx = 0;
  let xd = 0;
  for (const p of points) {
    xx += (p.own - mx) ** 2;
    xd += (p.own - mx) * (p.other - p.own - md);
  }
  const excess = xx === 0 ? 0 : xd / xx;
  return { slope: 1 + excess, offset: md - excess * mx };
}

function errorsOf(points: readonly TimePoint[], line: TimeMap): { slopeError: number; error: number } {
  const count = points.length;
  const mx = points.reduce((sum, p) => sum + p.own, 0) / count;
  const xx = points.reduce((sum, p) => sum + (p.own - mx) ** 2, 0);
  const square = points.reduce((sum, p) => sum + (p.other - mapFrame(line, p.own)) ** 2, 0);
  const spread = Math.sqrt(square / Math.max(1, count - 2));
  const slopeError = xx === 0 || count < 3 ? Number.POSITIVE_INFINITY : spread / Math.sqrt(xx);
  const farthest = Math.max(...points.map((p) => Math.abs(p.own - mx)));
  return { slopeError, error: Math.hypot(spread / Math.sqrt(count), count < 3 ? spread : slopeError * farthest) };
}

function middle(values: readonly number[]): number {
  const sorted = [...values].sort((a, b) => a - b);
  const half = sorted.length >> 1;
  return sorted.length % 2 ? sorted[half] : (sorted[half - 1] + sorted[half]) / 2;
}
