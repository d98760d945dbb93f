// The exact frames at which a chain on one clock lost or repeated samples: the likeliest course of the lag through chunks of 64 frames between places
// that are known, then the frame within. Not for chains with a rate of their own (clock.ts).
export interface Turn {
  /** frame of the window from which the new lag holds; any from `least` to `most` fits as well */
  readonly frame: number;
  readonly least: number;
  readonly most: number;
  readonly lag: number;
}

/** What lies between two places whose lag is known; the window's first frame is captured frame 0 of it. */
export interface Stretch {
  readonly captured: Int32Array;
  /** sent; sample n of it belongs to captured frame n at lag 0 */
  readonly sentAt: (frame: number) => number;
  /** lags near which it may turn */
  readonly knownLags: readonly number[];
  readonly firstLag: number;
  readonly lastLag: number;
  /** -1 to 1: how alike sent and captured are where the lag is right */
  readonly likeness: number;
  /** behind the last known place: it may end with any lag */
  readonly isEnd: boolean;
}

export interface Course {
  readonly startLag: number;
  readonly turns: readonly Turn[];
}

const CHUNK = 64;
/** A turn may lie anywhere in a gap of digital zero: so many chunks around it are looked at. */
const ROUND_CHUNKS = 10;
/** A slip within a stretch that is made good again in it is looked for this far. */
const REACH = 32;
/** In units of log likelihood: a jump must make the chunks after it that much likelier. */
const JUMP_COST = 24;
/** Below it chunks say nothing of their own lag. */
const LEAST_LIKENESS = 0.5;

export function courseIn(stretch: Stretch): Course {
  const { firstLag, lastLag } = stretch;
  const isPlain = firstLag === lastLag && (Math.abs(stretch.likeness) < LEAST_LIKENESS || staysAlike(stretch));
  if (isPlain || stretch.captured.length < CHUNK) return { startLag: firstLag, turns: [] };
  const lags = candidateLags(stretch.knownLags);
  const path = likeliestPath(stretch, lags);
  const line = pathLine(stretch, path);
  const places = path.flatMap((lag, i) => (i > 0 && lag !== path[i - 1] ? [i] : []));
  const turns = places.map((i, k) => {
    // near its neighbours neither of the two lags is right
    const from = Math.min(i - 2, Math.max((places[k - 1] ?? -2) + 2, i - ROUND_CHUNKS)) * CHUNK;
    const to = Math.max(i + 2, Math.min((places[k + 1] ?? path.length + 2) - 2, i + ROUND_CHUNKS)) * CHUNK;
    return refined(stretch, Math.max(0, from), to, path[i - 1], path[i], line);
  });
  return { startLag: path[0], turns };
}

function candidateLags(known: readonly number[]): number[] {
  const lags = new Set<number>();
  for (const lag of known) for (let d = -REACH; d <= REACH; d++) lags.add(lag + d);
  return [...lags];
}

/** Whether each chunk, but for few, is like what was sent at the one lag. */
function staysAlike(stretch: Stretch): boolean {
  const chunks = Math.floor(stretch.captured.length / CHUNK);
  for (let i = 0; i < chunks; i++) {
    const { both, own, other } = sumsOf(stretch, i, stretch.firstLag);
    if (own > 0 && both * both < 0.25 * stretch.likeness ** 2 * own * other) return false;
  }
  return true;
}

/** Products and energies about the chunk's own means. */
function sumsOf({ captured, sentAt }: Stretch, chunk: number, lag: number) {
  let both = 0;
  let own = 0;
  let other = 0;
  let sumS = 0;
  let sumC = 0;
  for (let n = chunk * CHUNK; n < (chunk + 1) * CHUNK; n++) {
    const s = sentAt(n - lag);
    const c = captured[n];
    both += s * c;
    own += s * s;
    other += c * c;
    sumS += s;
    sumC += c;
  }
  return {
    both: both - (sumS * sumC) / CHUNK,
    meanS: sumS / CHUNK,
    meanC: sumC / CHUNK,
    own: Math.max(0, own - (sumS * sumS) / CHUNK),
    other: Math.max(0, other - (sumC * sumC) / CHUNK),
  };
}

function likeliestPath(stretch: Stretch, lags: readonly number[]): number[] {
  const chunks = Math.max(1, Math.floor(stretch.captured.length / CHUNK));
  let costs: number[] = lags.map((lag) => (lag === stretch.firstLag ? 0 : JUMP_COST));
  const cameFrom: Int16Array[] = [];
  for (let i = 0; i < chunks; i++) {
    const best = costs.indexOf(Math.min(...costs));
    const from = new Int16Array(lags.length);
    costs = costs.map((cost, k) => {
      const isJump = costs[best] + JUMP_COST < cost;
      from[k] = isJump ? best : k;
      return (isJump ? costs[best] + JUMP_COST : cost) + chunkCost(stretch, i, lags[k]);
    });
    cameFrom.push(from);
  }
  const path = new Array<number>(chunks);
  let k = stretch.isEnd ? costs.indexOf(Math.min(...costs)) : lags.indexOf(stretch.lastLag);
  for (let i = chunks - 1; i >= 0; i--) {
    path[i] = lags[k];
    k = cameFrom[i][k];
  }
  return path;
}

/** Log likelihood of normal noise with the chunk's own gain, turned round. */
function chunkCost(stretch: Stretch, chunk: number, lag: number): number {
  const { both, own, other } = sumsOf(stretch, chunk, lag);
  if (own < 1e-3 || other < 1e-3) return 0;
  return (CHUNK / 2) * Math.log(Math.max(1e-6, 1 - (both * both) / (own * other)));
}

/** Gain and offset, medians over the chunks: those that hold a jump do not count. */
function pathLine(stretch: Stretch, path: readonly number[]): { gain: number; offset: number } {
  const sums = path.map((lag, i) => sumsOf(stretch, i, lag)).filter(({ own }) => own > 0);
  const gain = upperMedian(sums.map(({ both, own }) => both / own));
  return { gain, offset: upperMedian(sums.map(({ meanC, meanS }) => meanC - gain * meanS)) };
}

function upperMedian(values: readonly number[]): number {
  const sorted = [...values].sort((a, b) => a - b);
  return sorted[sorted.length >> 1] ?? 0;
}

/** The frame that leaves the least difference; all that leave as little. */
function refined(
  { captured, sentAt }: Stretch,
  from: number,
  end: number,
  before: number,
  after: number,
  { gain, offset }: { readonly gain: number; readonly offset: number },
): Turn {
  const to = Math.min(captured.length, end);
  const miss = (n: number, lag: number) => (captured[n] - offset - gain * sentAt(n - lag)) ** 2;
  let cost = 0;
  for (let n = from; n < to; n++) cost += miss(n, after);
  const costs = [cost];
  for (let n = from; n < to; n++) costs.push((cost += miss(n, before) - miss(n, after)));
  const least = Math.min(...costs);
  // as likely within three standard deviations of what remains
  const slack = (9 * least) / (to - from) + 1e-9 * (1 + Math.max(...costs));
  const fit = costs.flatMap((value, k) => (value <= least + slack ? [from + k] : []));
  return { frame: from + costs.indexOf(least), least: fit[0], most: fit[fit.length - 1], lag: after };
}
