// Level histogram of one file channel: how many samples lie at which level. Height is the logarithm of the count, because
// a few loud samples matter as much as many quiet ones.
import type { Markup } from './markup.ts';
import type { LevelHistogram } from './report-model.ts';
import { box, drawingOf, label, line } from './svg-frame.ts';

/** half a page wide: two stand beside each other */
const WIDTH = 470;
const LEFT = 52;
const PLOT = WIDTH - LEFT - 8;
const HEIGHT = 110;
const TOP = 6;

export function levelDrawing(id: string, name: string, levels: LevelHistogram): Markup {
  const { fromDb, stepDb, counts, peakDb } = levels;
  const span = counts.length * stepDb;
  const x = (db: number) => LEFT + (PLOT * (db - fromDb)) / span;
  const decades = Math.max(1, Math.ceil(Math.log10(Math.max(10, ...counts))));
  const y = (count: number) => TOP + HEIGHT * (1 - Math.log10(Math.max(1, count)) / decades);
  const bars = counts.flatMap((count, i) => {
    const top = Math.min(y(count), TOP + HEIGHT - 1);
    return count > 0
      ? [box(x(fromDb + i * stepDb), top, Math.max(1, x(fromDb + stepDb) - LEFT - 0.6), TOP + HEIGHT - top, 'level')]
      : [];
  });
  const rows = Array.from({ length: decades + 1 }, (_, d) => [
    line(LEFT, y(10 ** d), LEFT + PLOT, y(10 ** d), 'grid'),
    label(LEFT - 6, y(10 ** d) + 4, countLabel(d), 'end'),
  ]);
  const ticks = Array.from({ length: Math.floor(span / 12) + 1 }, (_, i) => fromDb + i * 12).map((db) =>
    label(x(db), TOP + HEIGHT + 16, `${db}`, db >= fromDb + span ? 'end' : 'middle'),
  );
  const peak = peakDb === null ? [] : [line(x(peakDb), TOP, x(peakDb), TOP + HEIGHT, 'peak')];
  const said = peakDb === null ? 'digital silence throughout' : `peak ${peakDb.toFixed(2)} dBFS`;
  const description = `Samples per ${stepDb} dB of level, logarithmic; ${said}; ${levels.below} samples are quieter than shown.`;
  return drawingOf(WIDTH, id, `Levels of ${name}`, description, TOP + HEIGHT + 22, ...rows, ...bars, ...ticks, ...peak);
}

function countLabel(decade: number): string {
  return ['1', '10', '100', '1 k', '10 k', '100 k', '1 M', '10 M', '100 M', '1 G'][decade] ?? `10^${decade}`;
}
