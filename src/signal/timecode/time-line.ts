// The map from frame numbers of a timecode to sample positions: one straight line with its error, and corners where one line is not enough
// (wow, changes of speed). Not for which words belong on one line.

export interface MapPoint {
  /** frame number of the timecode */
  readonly number: number;
  /** position in the recording at which that frame begins, in samples */
  readonly at: number;
}

export interface StraightLine {
  /** samples from one frame of the timecode to the next; negative when played backwards */
  readonly step: number;
  /** one standard deviation of `step` */
  readonly stepError: number;
  /** samples of frame number `origin` */
  readonly origin: number;
  readonly at: number;
  /** root mean square distance of the words from the line, in samples */
  readonly residual: number;
}

/** Words are whole-sample edges at worst; a line cannot be trusted closer than this, in samples. */
const LEAST_RESIDUAL = 0.02;

/** Least squares; null for fewer than two different numbers. */
export function fitLine(points: readonly MapPoint[]): StraightLine | null {
  const n = points.length;
  if (n < 2) return null;
  const [origin, at] = [points[0].number, points[0].at];
  let [sx, sy, sxx, sxy] = [0, 0, 0, 0];
  for (const point of points) {
    const [x, y] = [point.number - origin, point.at - at];
    sx += x;
    sy += y;
    sxx += x * x;
    sxy += x * y;
  }
  const spread = sxx - (sx * sx) / n;
  if (spread <= 0) return null;
  const step = (sxy - (sx * sy) / n) / spread;
  const start = (sy - step * sx) / n;
  let squares = 0;
  for (const point of points) squares += (point.at - at - start - step * (point.number - origin)) ** 2;
  const residual = Math.sqrt(squares / Math.max(1, n - 2));
  const stepError = Math.max(residual, LEAST_RESIDUAL) / Math.sqrt(spread);
  return { step, stepError, origin, at: at + start, residual };
}

/** Corners between which straight lines pass all points within `tolerance` samples; first and last are among them. */
export function cornersOf(points: readonly MapPoint[], tolerance: number): MapPoint[] {
  if (points.length <= 2) return [...points];
  const corners = [points[0]];
  let from = points[0];
  let last = points[0];
  let [lowest, highest] = [Number.NEGATIVE_INFINITY, Number.POSITIVE_INFINITY];
  for (const point of points.slice(1)) {
    const run = Math.abs(point.number - from.number);
    if (run === 0) continue;
    const slope = (point.at - from.at) / run;
    if (slope < lowest || slope > highest) {
      corners.push(last);
      from = last;
      [lowest, highest] = [Number.NEGATIVE_INFINITY, Number.POSITIVE_INFINITY];
    }
    const reach = Math.abs(point.number - from.number);
    if (reach > 0) {
      lowest = Math.max(lowest, (point.at - tolerance - from.at) / reach);
      highest = Math.min(highest, (point.at + tolerance - from.at) / reach);
    }
    last = point;
  }
  if (last !== corners[corners.length - 1]) corners.push(last);
  return corners;
}

/** Position of a frame number (which may be a fraction) between the corners; outside them the nearest line goes on. */
export function positionAt(corners: readonly MapPoint[], number: number): number {
  if (corners.length < 2) return corners[0].at;
  const isRising = corners[corners.length - 1].number > corners[0].number;
  let i = 1;
  while (i < corners.length - 1 && (isRising ? corners[i].number < number : corners[i].number > number)) i++;
  const [a, b] = [corners[i - 1], corners[i]];
  return a.at + ((number - a.number) * (b.at - a.at)) / (b.number - a.number);
}
