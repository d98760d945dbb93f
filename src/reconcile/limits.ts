// The distances, in frames, that define how far reconciling looks around a differing sample. Results depend on these and
// never on block size. Our own choice; no source.

/** Differing samples closer than this belong to one run: lattices of every second sample, three of five, and so on. */
export const GAP_FRAMES = 20;
/** A longer run is judged in parts of this length. */
export const MAX_RUN_FRAMES = 4096;
/** Undamaged samples looked at on each side of a run for the chance of a look. */
export const CONTEXT_FRAMES = 512;
/** Equal samples looked at on each side of a run for concealment that both reads share. */
export const REACH_FRAMES = 64;
/** Fewer undamaged samples than this around a run: the chance measured at the run before is used. */
export const LEAST_CONTEXT = 64;

export const HISTORY_FRAMES = CONTEXT_FRAMES + 2;
export const AHEAD_FRAMES = MAX_RUN_FRAMES + 2 * REACH_FRAMES + CONTEXT_FRAMES + GAP_FRAMES + 2;
/** Votes in one differing run from which equal samples between them are counted with them. */
export const FOLD_VOTES = 64;
