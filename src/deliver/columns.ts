// Long time made narrow: provenance runs and findings gathered into a fixed number of columns, for stripes and lanes.
// Exact in frames; drawing is elsewhere.
import type { Placement } from '../align/index.ts';
import type { Span } from '../base/index.ts';
import type { Finding } from '../examine/index.ts';
import type { IsLost } from './fates.ts';
import type { AgreementStripe, EventLane, LaneMark, ReportRun } from './report-model.ts';

export const LANE_COLUMNS = 600;

/** What a lane needs of a finding; no channels means all. */
export type LaneEvent = Pick<Finding, 'kind' | 'channels' | 'start' | 'length'>;

/** First frame of a column of `columns` over `frames` frames. */
export function columnStart(column: number, frames: number, columns: number): number {
  return Math.floor((column * frames) / columns);
}

/** Column that holds a frame, 0 .. columns-1 for frames inside. */
export function columnOf(frame: number, frames: number, columns: number): number {
  let column = Math.floor((frame * columns) / frames);
  while (column > 0 && columnStart(column, frames, columns) > frame) column--;
  while (column < columns - 1 && columnStart(column + 1, frames, columns) <= frame) column++;
  return Math.min(Math.max(column, 0), columns - 1);
}

/** Calls `each(column, frames of the span inside it)` for every column the span touches; `span` clipped to the extent. */
export function spreadSpan(
  span: Span,
  extent: Span,
  columns: number,
  each: (column: number, frames: number) => void,
): void {
  const from = Math.max(0, span.start - extent.start);
  const to = Math.min(extent.length, span.start + span.length - extent.start);
  if (from >= to) return;
  for (let column = columnOf(from, extent.length, columns); column < columns; column++) {
    const start = Math.max(from, columnStart(column, extent.length, columns));
    if (start >= to) return;
    const end = Math.min(to, columnStart(column + 1, extent.length, columns));
    if (end > start) each(column, end - start);
  }
}

/** Runs of one channel of one master of `frames` frames. */
export function agreementStripe(
  group: number,
  channel: number,
  runs: readonly ReportRun[],
  frames: number,
  isLost: IsLost,
): AgreementStripe {
  const columns = Math.max(1, Math.min(LANE_COLUMNS, frames));
  const empty = () => new Array<number>(columns).fill(0);
  const shares = { proven: empty(), chosen: empty(), unproven: empty(), lost: empty() };
  for (const run of runs) {
    if (run.channel !== channel) continue;
    const share = shares[isLost(run) ? 'lost' : run.state];
    spreadSpan(run, { start: 0, length: frames }, columns, (column, part) => {
      share[column] += part;
    });
  }
  return { group, channel, frames, ...shares };
}

/** Findings of one file channel of a placed capture, laid on the timeline through its segments. */
export function eventLane(
  read: { readonly channel: number; readonly capture: number; readonly fileChannel: number },
  findings: readonly LaneEvent[],
  placement: Placement,
  extent: Span,
): EventLane {
  const marks = new Map<string, LaneMark>();
  for (const finding of findings) {
    if (finding.channels.length > 0 && !finding.channels.includes(read.fileChannel)) continue;
    addMarks(marks, finding, placement, extent);
  }
  const order = [...marks.values()].sort((a, b) => a.column - b.column || (a.kind < b.kind ? -1 : 1));
  return { group: placement.group, ...read, covered: coveredColumns(placement, extent), marks: order };
}

function addMarks(marks: Map<string, LaneMark>, finding: LaneEvent, placement: Placement, extent: Span): void {
  for (const segment of placement.segments) {
    const start = Math.max(finding.start, segment.start);
    const length = Math.min(finding.start + finding.length, segment.start + segment.length) - start;
    if (length <= 0) continue;
    spreadSpan({ start: start + segment.offset, length }, extent, LANE_COLUMNS, (column, frames) => {
      const key = `${column} ${finding.kind}`;
      const mark = marks.get(key);
      const count = (mark?.count ?? 0) + 1;
      marks.set(key, { kind: finding.kind, column, count, frames: (mark?.frames ?? 0) + frames });
    });
  }
}

function coveredColumns(placement: Placement, extent: Span): (readonly [number, number])[] {
  const pairs: [number, number][] = [];
  for (const { start, length, offset } of placement.segments) {
    let first = -1;
    let last = -1;
    spreadSpan({ start: start + offset, length }, extent, LANE_COLUMNS, (column) => {
      if (first < 0) first = column;
      last = column;
    });
    const before = pairs.at(-1);
    if (first >= 0 && before && first <= before[1] + 1) before[1] = Math.max(before[1], last);
    else if (first >= 0) pairs.push([first, last]);
  }
  return pairs;
}
