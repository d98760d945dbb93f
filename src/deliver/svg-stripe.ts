// The agreement stripe: per channel, how much of each column of time is proven, chosen, unproven or lost. States differ by
// pattern and lightness as well as colour; a flaw is always at least one unit wide and a quarter of the row high.
import type { Rate } from '../base/index.ts';
import type { Markup } from './markup.ts';
import type { AgreementStripe } from './report-model.ts';
import { box, DRAWING_WIDTH, drawing, LABEL_WIDTH, label, PLOT_WIDTH, timeAxis } from './svg-frame.ts';

const ROW = 26;
const BAR = 20;
/** least height of a share that is not proven, so that it can be seen */
const LEAST = 5;
const STATES = ['proven', 'chosen', 'unproven', 'lost'] as const;

/** Stripes of one group, one row each. */
export function stripeDrawing(id: string, stripes: readonly AgreementStripe[], at: Rate): Markup {
  const bottom = 4 + stripes.length * ROW;
  const rows = stripes.flatMap((stripe, i) => [
    label(0, 4 + i * ROW + BAR * 0.7, `channel ${stripe.channel}`),
    ...stripeRow(stripe, 4 + i * ROW),
  ]);
  const axis = stripes.length ? timeAxis(stripes[0].frames, at, 0, bottom) : [];
  const description = 'One row per channel over time. The table "Proof per channel" has the same figures.';
  return drawing(id, 'Agreement of the reads along time', description, bottom + 20, ...axis, ...rows);
}

/** Key to the four states, drawn with the same fills. */
export function stripeKey(id: string): Markup {
  const words = { proven: 'proven', chosen: 'chosen', unproven: 'unproven', lost: 'lost' };
  const step = DRAWING_WIDTH / 6;
  const entries = STATES.flatMap((state, i) => [
    box(i * step, 3, 34, 14, `state-${state}`),
    label(i * step + 40, 14, words[state]),
  ]);
  return drawing(
    id,
    'Key to the agreement stripe',
    'Fills of the states proven, chosen, unproven and lost.',
    20,
    ...entries,
  );
}

function stripeRow(stripe: AgreementStripe, top: number): Markup[] {
  const columns = stripe.proven.length;
  const width = PLOT_WIDTH / columns;
  const out: Markup[] = [];
  for (let from = 0; from < columns; ) {
    const only = onlyState(stripe, from);
    let to = from + 1;
    while (only && to < columns && onlyState(stripe, to) === only) to++;
    const x = LABEL_WIDTH + from * width;
    if (only) out.push(box(x, top, (to - from) * width, BAR, `state-${only}`));
    else out.push(...mixedColumn(stripe, from, x, Math.max(1.4, width), top));
    from = to;
  }
  return [...out, box(LABEL_WIDTH, top, PLOT_WIDTH, BAR, 'outline')];
}

/** Shares stacked from the top, lost first. Hatchings are too coarse for one column, so it has plain fills. */
function mixedColumn(stripe: AgreementStripe, at: number, x: number, width: number, top: number): Markup[] {
  const all = STATES.reduce((sum, state) => sum + stripe[state][at], 0);
  if (all === 0) return [];
  const flawed = [...STATES].reverse().filter((state) => state !== 'proven' && stripe[state][at] > 0);
  const tall = flawed.map((state) => Math.max(LEAST, (BAR * stripe[state][at]) / all));
  const scale = Math.min(1, BAR / tall.reduce((sum, height) => sum + height, 0));
  let y = top;
  const drawn = flawed.map((state, i) => {
    const part = box(x, y, width, tall[i] * scale, `thin-${state}`);
    y += tall[i] * scale;
    return part;
  });
  return [box(x, top, width, BAR, 'state-proven'), ...drawn];
}

/** The one state of a column, or undefined when it is mixed or empty. */
function onlyState(stripe: AgreementStripe, at: number): (typeof STATES)[number] | undefined {
  const present = STATES.filter((state) => stripe[state][at] > 0);
  return present.length === 1 ? present[0] : undefined;
}
