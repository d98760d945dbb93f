// Code-book chart: distance to the next value used, against amplitude, both by powers of two. A linear recording lies on
// the lowest line; a companding law makes a staircase. Beside it, how often the smallest values occur.
import { coordinate, el, type Markup } from './markup.ts';
import type { CodeBookChart, CodeBookPoint } from './report-model.ts';
import { box, drawing, LABEL_WIDTH, label, line } from './svg-frame.ts';

const TOP = 8;
const HEIGHT = 190;
const WIDTH = 520;
const SMALL_LEFT = LABEL_WIDTH + WIDTH + 60;
const SMALL_WIDTH = 280;

export function codeBookDrawing(id: string, name: string, chart: CodeBookChart): Markup {
  const description = `Distance between neighbouring values against amplitude in ${chart.bits}-bit steps: dots measured, line after the law (${chart.answer}). Right: counts of the values near zero.`;
  const title = `Code book of ${name}: ${chart.answer}`;
  return drawing(id, title, description, TOP + HEIGHT + 36, ...spacingPlot(chart), ...nearZeroPlot(chart));
}

function spacingPlot({ measured, law, bits }: CodeBookChart): Markup[] {
  const tallest = [...measured, ...law].reduce((most, point) => Math.max(most, point.spacing), 1);
  const powers = Math.max(4, Math.ceil(Math.log2(tallest)) + 1);
  const across = Math.max(1, bits - 1);
  const x = (magnitude: number) => LABEL_WIDTH + (WIDTH * Math.log2(Math.max(1, magnitude))) / across;
  const y = (spacing: number) => TOP + HEIGHT * (1 - (Math.log2(Math.max(1, spacing)) + 0.5) / powers);
  const rows = Array.from({ length: powers }, (_, p) => [
    line(LABEL_WIDTH, y(2 ** p), LABEL_WIDTH + WIDTH, y(2 ** p), 'grid'),
    label(LABEL_WIDTH - 6, y(2 ** p) + 4, `${2 ** p}`, 'end'),
  ]);
  const ticks = Array.from({ length: Math.floor(across / 3) + 1 }, (_, i) =>
    label(x(2 ** (i * 3)), TOP + HEIGHT + 15, `${2 ** (i * 3)}`, 'middle'),
  );
  const at = (point: CodeBookPoint) => `${coordinate(x(point.magnitude))},${coordinate(y(point.spacing))}`;
  const stairs = law.length ? [el('polyline', { points: law.map(at).join(' '), class: 'law' })] : [];
  const dots = measured.map((point) =>
    el('circle', { cx: coordinate(x(point.magnitude)), cy: coordinate(y(point.spacing)), r: 2.2, class: 'measured' }),
  );
  const words = label(
    LABEL_WIDTH + WIDTH / 2,
    TOP + HEIGHT + 31,
    'amplitude (steps); upwards: distance to the next value',
    'middle',
  );
  return [...rows.flat(), ...ticks, ...stairs, ...dots, words];
}

function nearZeroPlot({ nearZero }: CodeBookChart): Markup[] {
  if (nearZero.length === 0) return [];
  const most = nearZero.reduce((top, { count }) => Math.max(top, count), 1);
  const low = nearZero.reduce((least, { value }) => Math.min(least, value), 0);
  const high = nearZero.reduce((top, { value }) => Math.max(top, value), 0);
  const step = SMALL_WIDTH / (high - low + 1);
  const bars = nearZero.flatMap(({ value, count }) => {
    const height = Math.max(count > 0 ? 1 : 0, (HEIGHT * count) / most);
    return count > 0
      ? [box(SMALL_LEFT + (value - low) * step, TOP + HEIGHT - height, Math.max(1, step * 0.8), height, 'level')]
      : [];
  });
  const words = [low, 0, high].map((value) =>
    label(SMALL_LEFT + (value - low + 0.4) * step, TOP + HEIGHT + 15, `${value}`, 'middle'),
  );
  return [
    line(SMALL_LEFT, TOP + HEIGHT, SMALL_LEFT + SMALL_WIDTH, TOP + HEIGHT, 'axis'),
    ...bars,
    ...words,
    label(SMALL_LEFT + SMALL_WIDTH / 2, TOP + HEIGHT + 31, `value; tallest ${most} samples`, 'middle'),
  ];
}
