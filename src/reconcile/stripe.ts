// The agreement stripe: shares of proof states per column, for pictures of any width. Draws nothing.
import type { Span } from '../base/index.ts';
import type { Reason } from './run-book.ts';

/** Shares of the column's frames, 0..1; proven + chosen + unproven = 1, `lost` is part of unproven. */
export interface StripeColumn {
  readonly proven: number;
  readonly chosen: number;
  readonly unproven: number;
  readonly lost: number;
}

/** `spans` sorted and abutting over `frames`. Fewer columns than asked when there are fewer frames. */
export function stripeOf(
  spans: Iterable<Span & { readonly reason: Reason }>,
  frames: number,
  columns: number,
): StripeColumn[] {
  const count = Math.min(Math.max(0, Math.floor(columns)), frames);
  const sums = Array.from({ length: count }, () => ({ proven: 0, chosen: 0, unproven: 0, lost: 0 }));
  const edge = (column: number) => Math.floor((column * frames) / count);
  let column = 0;
  for (const { start, length, reason } of spans) {
    for (let at = start; at < start + length && column < count; ) {
      const end = Math.min(start + length, edge(column + 1));
      sums[column][reason.state] += end - at;
      if (reason.lost) sums[column].lost += end - at;
      at = end;
      if (end === edge(column + 1)) column++;
    }
  }
  return sums.map((sum, i) => {
    const width = edge(i + 1) - edge(i);
    return {
      proven: sum.proven / width,
      chosen: sum.chosen / width,
      unproven: sum.unproven / width,
      lost: sum.lost / width,
    };
  });
}
