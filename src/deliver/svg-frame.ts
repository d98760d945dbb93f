// What the report's drawings share: the frame with its title for screen readers, the time axis, the hatchings.
// Colours come from the page's style sheet, so that light, dark and print change them together.
import { formatTime, type Rate, secondsOf } from '../base/index.ts';
import { type Child, coordinate, el, type Markup } from './markup.ts';

/** Drawing units; drawings stretch to the page's width. */
export const DRAWING_WIDTH = 960;
export const LABEL_WIDTH = 84;
export const PLOT_WIDTH = DRAWING_WIDTH - LABEL_WIDTH - 8;

/** `id` must be unique on the page. */
export function drawing(id: string, title: string, description: string, height: number, ...children: Child[]): Markup {
  return drawingOf(DRAWING_WIDTH, id, title, description, height, ...children);
}

/** A drawing of another width, for two beside each other. */
export function drawingOf(
  width: number,
  id: string,
  title: string,
  description: string,
  height: number,
  ...children: Child[]
): Markup {
  return el(
    'svg',
    {
      viewBox: `0 0 ${width} ${coordinate(height)}`,
      role: 'img',
      'aria-labelledby': `${id}-title ${id}-desc`,
      class: 'drawing',
    },
    el('title', { id: `${id}-title` }, title),
    el('desc', { id: `${id}-desc` }, description),
    ...children,
  );
}

export function label(x: number, y: number, text: string, anchor: 'start' | 'middle' | 'end' = 'start'): Markup {
  return el('text', { x: coordinate(x), y: coordinate(y), 'text-anchor': anchor }, text);
}

export function box(x: number, y: number, width: number, height: number, name: string, ...inside: Child[]): Markup {
  return el(
    'rect',
    { x: coordinate(x), y: coordinate(y), width: coordinate(width), height: coordinate(height), class: name },
    ...inside,
  );
}

export function line(x1: number, y1: number, x2: number, y2: number, name: string): Markup {
  return el('line', { x1: coordinate(x1), y1: coordinate(y1), x2: coordinate(x2), y2: coordinate(y2), class: name });
}

/** Ticks at round times below `y`, and thin lines up to `top`. */
export function timeAxis(frames: number, at: Rate, top: number, y: number): Markup[] {
  const seconds = secondsOf(frames, at);
  const step = roundStep(seconds / 8);
  const out: Markup[] = [];
  for (let i = 0; i * step <= seconds; i++) {
    const x = LABEL_WIDTH + (PLOT_WIDTH * i * step) / seconds;
    const anchor = x > DRAWING_WIDTH - 60 ? 'end' : 'middle';
    const text = formatTime((i * step * at.num) / at.den, at);
    out.push(line(x, top, x, y + 3, 'grid'), label(x, y + 15, step >= 1 ? text.replace(/\.\d+$/, '') : text, anchor));
  }
  return out;
}

/** 1, 2, 5, 10, 15, 30 of seconds, minutes or hours; decimal below one second. */
export function roundStep(least: number): number {
  const steps = [1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 900, 1800, 3600, 7200, 14_400, 43_200];
  const found = least > 0.5 ? steps.find((step) => step >= least) : undefined;
  if (found !== undefined) return found;
  const power = 10 ** Math.floor(Math.log10(least));
  return power * ([1, 2, 5].find((factor) => power * factor >= least) ?? 10);
}

/** The hatchings all drawings refer to; stands once on the page. */
export function hatchings(): Markup {
  const pattern = (id: string, size: number, ...children: Child[]) =>
    el('pattern', { id, width: size, height: size, patternUnits: 'userSpaceOnUse' }, ...children);
  return el(
    'svg',
    { width: 0, height: 0, 'aria-hidden': 'true', class: 'hidden-drawing' },
    el(
      'defs',
      {},
      pattern(
        'hatch-chosen',
        6,
        box(0, 0, 6, 6, 'ground-chosen'),
        el('path', { d: 'M-1 7L7 -1', class: 'ink-chosen' }),
      ),
      pattern('hatch-unproven', 6, box(0, 0, 6, 6, 'ground-unproven'), box(1, 1, 2, 2, 'ink-unproven')),
    ),
  );
}
