// Curves of several captures in one drawing, frequency on a logarithmic axis: series differ by colour, dash and mark, so that they stay apart in print
// and for the colour-blind. Colours come from a style sheet.
import { coordinate, el, type Markup } from '../markup.ts';
import { drawing, label, line } from '../svg-frame.ts';
import type { CurveKind, CurvePoint } from './measure-curves.ts';

export interface Series {
  readonly name: string;
  readonly points: readonly CurvePoint[];
}

const LEFT = 70;
const WIDTH = 870;
const TOP = 10;
const HEIGHT = 280;
const KEY_ROW = 18;
/** More would not stay apart. */
export const MOST_SERIES = 6;
/** What noise of 24 bits cannot reach is drawn at the edge. */
const LOWEST_DB = -200;

export const CURVE_STYLE = `
.curve { fill: none; stroke-width: 2; stroke-linejoin: round; } .spread { stroke-width: 1; opacity: .45; }
.curve-0, .spread-0 { stroke: var(--blue); } .curve-1, .spread-1 { stroke: var(--ochre); } .curve-2, .spread-2 { stroke: var(--plum); }
.curve-3, .spread-3 { stroke: var(--grey); } .curve-4, .spread-4 { stroke: var(--ink); } .curve-5, .spread-5 { stroke: var(--chosen-ink); }
.curve-1 { stroke-dasharray: 8 3; } .curve-2 { stroke-dasharray: 2 3; } .curve-3 { stroke-dasharray: 10 3 2 3; } .curve-4 { stroke-dasharray: 4 4; } .curve-5 { stroke-dasharray: 14 5; }
`;

export function curveDrawing(id: string, kind: CurveKind, series: readonly Series[]): Markup {
  const shown = series.slice(0, MOST_SERIES);
  const x = acrossScale(kind, shown);
  const y = upScale(kind, shown);
  const description = `${kind.upLabel} against ${kind.acrossLabel}: ${shown.map((one) => one.name).join(', ')}. ${kind.note}`;
  return drawing(
    id,
    kind.title,
    description,
    TOP + HEIGHT + 44 + KEY_ROW * shown.length,
    ...x.ticks.map((tick) => [
      line(x.at(tick.at), TOP, x.at(tick.at), TOP + HEIGHT, 'grid'),
      tick.text === '' ? null : label(x.at(tick.at), TOP + HEIGHT + 16, tick.text, 'middle'),
    ]),
    ...y.ticks.map((tick) => [
      line(LEFT, y.at(tick), LEFT + WIDTH, y.at(tick), tick === 0 ? 'axis' : 'grid'),
      label(LEFT - 6, y.at(tick) + 4, `${tick}`, 'end'),
    ]),
    label(LEFT + WIDTH / 2, TOP + HEIGHT + 32, `${kind.acrossLabel}; upwards: ${kind.upLabel}`, 'middle'),
    values(shown).length === 0
      ? label(LEFT + WIDTH / 2, TOP + HEIGHT / 2, 'not measured in any of them', 'middle')
      : null,
    ...shown.flatMap((one, k) => [...spreads(one, k, x.at, y.at), curve(one, k, x.at, y.at), ...keyOf(one, k)]),
  );
}

type At = (value: number) => number;

function curve(series: Series, k: number, x: At, y: At): Markup {
  const points = series.points.flatMap(({ at, measured }) =>
    measured.value === null ? [] : [`${coordinate(x(at))},${coordinate(y(measured.value))}`],
  );
  return el('polyline', { points: points.join(' '), class: `curve curve-${k}` });
}

/** Uncertainties that can be seen as upright strokes. */
function spreads(series: Series, k: number, x: At, y: At): Markup[] {
  return series.points.flatMap(({ at, measured }) => {
    if (measured.value === null || measured.uncertainty === null) return [];
    const [low, high] = [y(measured.value - measured.uncertainty), y(measured.value + measured.uncertainty)];
    return low - high > 4 ? [line(x(at), low, x(at), high, `spread spread-${k}`)] : [];
  });
}

function keyOf(series: Series, k: number): Markup[] {
  const y = TOP + HEIGHT + 52 + KEY_ROW * k;
  return [
    el('polyline', { points: `${LEFT},${y} ${LEFT + 48},${y}`, class: `curve curve-${k}` }),
    label(LEFT + 58, y + 4, series.name),
  ];
}

function values(series: readonly Series[]): number[] {
  return series.flatMap((one) =>
    one.points.flatMap(({ measured }) => (measured.value === null ? [] : [measured.value])),
  );
}

function acrossScale(kind: CurveKind, series: readonly Series[]) {
  const all = series.flatMap((one) => one.points.map((point) => point.at));
  if (kind.across === 'hz') {
    const [low, high] = [20, Math.max(20_000, ...all)];
    const ticks = [20, 50, 100, 200, 500, 1000, 2000, 5000, 10_000, 20_000, 40_000].filter((hz) => hz <= high);
    return {
      at: (hz: number) => LEFT + (WIDTH * Math.log(hz / low)) / Math.log(high / low),
      ticks: ticks.map((hz) => ({ at: hz, text: hz >= 1000 ? `${hz / 1000} k` : `${hz}` })),
    };
  }
  const low = Math.floor(Math.min(-10, ...all) / 10) * 10;
  const ticks = Array.from({ length: -low / 10 + 1 }, (_, k) => low + 10 * k);
  return {
    at: (level: number) => LEFT + (WIDTH * (level - low)) / -low,
    ticks: ticks.map((level) => ({ at: level, text: `${level}` })),
  };
}

function upScale(kind: CurveKind, series: readonly Series[]) {
  const all = values(series).map((value) => Math.max(LOWEST_DB, value));
  const [least, most] = [Math.min(0, ...all), Math.max(...(all.length > 0 ? all : [0]))];
  const low = Math.max(least, most - (kind.depthDb ?? Number.POSITIVE_INFINITY));
  const step = [0.1, 0.2, 0.5, 1, 2, 5, 10, 20].find((size) => (most - low) / size <= 9) ?? 20;
  const from = Math.floor(low / step) * step;
  const to = Math.max(from + step, Math.ceil(most / step) * step);
  const ticks = Array.from(
    { length: Math.round((to - from) / step) + 1 },
    (_, k) => Math.round((from + k * step) * 10) / 10,
  );
  return {
    at: (value: number) => TOP + HEIGHT * (1 - Math.min(1, Math.max(0, (value - from) / (to - from)))),
    ticks,
  };
}
