// Event lanes: one lane per read, findings drawn where they lie on the timeline, each kind with a shape of its own.
// Columns gather neighbours; every mark is at least one unit wide.
import type { Rate } from '../base/index.ts';
import { LANE_COLUMNS } from './columns.ts';
import { eventKind, type MarkShape } from './kinds.ts';
import { coordinate, el, type Markup } from './markup.ts';
import { countOf } from './plain-words.ts';
import type { EventLane, ReportCapture } from './report-model.ts';
import { box, DRAWING_WIDTH, drawing, LABEL_WIDTH, label, line, PLOT_WIDTH, timeAxis } from './svg-frame.ts';

const ROW = 24;
const BAR = 18;
/** beyond this many marks the hover texts are left out, to keep the page small */
const MOST_TITLES = 2000;

export interface LaneScale {
  readonly frames: number;
  readonly rate: Rate;
}

export function laneDrawing(
  id: string,
  lanes: readonly EventLane[],
  captures: readonly ReportCapture[],
  scale: LaneScale,
): Markup {
  const bottom = 4 + lanes.length * ROW;
  const hasTitles = lanes.reduce((sum, lane) => sum + lane.marks.length, 0) <= MOST_TITLES;
  const rows = lanes.flatMap((lane, i) => {
    const top = 4 + i * ROW;
    return [
      label(0, top + BAR * 0.7, `ch ${lane.channel}, pass ${captures[lane.capture].pass}`),
      ...laneRow(lane, top, hasTitles),
    ];
  });
  const axis = timeAxis(scale.frames, scale.rate, 0, bottom);
  const description =
    'One lane per read over time. The table "Losses seen in each read" has the same events as counts.';
  return drawing(id, 'Events of every read along time', description, bottom + 20, ...axis, ...rows);
}

/** The shapes used in these lanes with their words. */
export function laneKey(id: string, lanes: readonly EventLane[]): Markup {
  const kinds = [...new Set(lanes.flatMap((lane) => lane.marks.map((mark) => mark.kind)))].sort();
  const step = DRAWING_WIDTH / 3;
  const entries = kinds.flatMap((kind, i) => {
    const x = (i % 3) * step;
    const y = Math.floor(i / 3) * ROW;
    const { label: words, shape } = eventKind(kind);
    return [box(x, y + 2, 20, BAR, 'lane'), mark(shape, x + 8, y + 2, 3), label(x + 28, y + 2 + BAR * 0.7, words)];
  });
  const height = Math.max(1, Math.ceil(kinds.length / 3)) * ROW;
  return drawing(id, 'Key to the event lanes', `Marks of ${kinds.join(', ') || 'no events'}.`, height, ...entries);
}

function laneRow(lane: EventLane, top: number, hasTitles: boolean): Markup[] {
  const width = PLOT_WIDTH / LANE_COLUMNS;
  const ground = lane.covered.map(([first, last]) =>
    box(LABEL_WIDTH + first * width, top, (last - first + 1) * width, BAR, 'lane'),
  );
  const marks = lane.marks.map(({ kind, column, count, frames }) => {
    const { label: words, shape } = eventKind(kind);
    const drawn = mark(shape, LABEL_WIDTH + column * width, top, Math.max(1.2, width));
    if (!hasTitles) return drawn;
    return el('g', {}, el('title', {}, `${words}: ${countOf(count, 'event')}, ${countOf(frames, 'frame')}`), drawn);
  });
  return [line(LABEL_WIDTH, top + BAR / 2, LABEL_WIDTH + PLOT_WIDTH, top + BAR / 2, 'grid'), ...ground, ...marks];
}

/** Shapes in a box BAR high, so that kinds can be told apart without colour. */
function mark(shape: MarkShape, x: number, top: number, width: number): Markup {
  const middle = x + width / 2;
  const diamond = (cy: number, r: number) => {
    const points = [`${coordinate(middle)},${coordinate(cy - r)}`, `${coordinate(middle + r)},${coordinate(cy)}`];
    points.push(`${coordinate(middle)},${coordinate(cy + r)}`, `${coordinate(middle - r)},${coordinate(cy)}`);
    return el('polygon', { points: points.join(' '), class: 'mark-diamond' });
  };
  switch (shape) {
    case 'bar':
      return box(x, top, width, BAR, 'mark-bar');
    case 'lower':
      return box(x, top + BAR * 0.6, Math.max(2.4, width), BAR * 0.4, 'mark-lower');
    case 'block':
      return box(x, top - 1, Math.max(3, width), BAR + 2, 'mark-block');
    case 'upper':
      return box(x, top, Math.max(2.4, width), BAR * 0.4, 'mark-upper');
    case 'tick':
      return box(x, top - 2, Math.max(1.6, width), 5, 'mark-tick');
    case 'diamond':
      return diamond(top + BAR / 2, 6);
    case 'dot':
      return el('circle', { cx: coordinate(middle), cy: coordinate(top + BAR / 2), r: 2.6, class: 'mark-dot' });
  }
}
