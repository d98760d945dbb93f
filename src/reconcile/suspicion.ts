// Equal samples next to a differing run that look concealed in every read: two decks that interpolate from the same good
// neighbours write the same wrong value, so equality proves nothing there. Flags them; never chooses a value.

/** Evidence (natural log) that a differing, concealed-looking sample lends its neighbours. */
const START = Math.log(20);
/**
 * What equal looks must add to be doubted in two reads: one look that undamaged samples show in fewer than 6 of 100 places.
 * With three and more reads any look after a differing sample is enough: there, nothing wrong may be called proven, and in
 * a whisper that costs some per cent of proof.
 */
const DOUBT = START + Math.log(8);
/** Share of concealed samples assumed inside a shared concealment: every second sample. */
const SHARE = 0.5;

/** What was seen at each frame of the neighbourhood of a run. */
export const PLAIN = 0;
export const DIFFERS = 1; // reads differ and at least one looks concealed
export const EQUAL_LOOK = 2; // all reads equal, and every one of them looks concealed

/** Flag */
export const DOUBTFUL = 1;

/**
 * A score walks over the frames in both directions: set to START where reads differ, up where equal samples all look
 * concealed, down elsewhere. `chance` is how often undamaged frames look so. Flags equal, concealed-looking frames only.
 */
export function flagSuspects(seen: Uint8Array, chance: number, passes: number, flags: Uint8Array): void {
  flags.fill(0);
  if (chance >= SHARE) return;
  const gain = Math.log(SHARE / chance);
  const loss = Math.log((1 - SHARE) / (1 - chance));
  const walk = { gain, loss, doubt: passes >= 3 ? START : DOUBT };
  for (let score = 0, i = 0; i < seen.length; i++) score = step(seen, i, score, walk, flags);
  for (let score = 0, i = seen.length - 1; i >= 0; i--) score = step(seen, i, score, walk, flags);
}

interface Walk {
  readonly gain: number;
  readonly loss: number;
  readonly doubt: number;
}

function step(seen: Uint8Array, at: number, score: number, walk: Walk, flags: Uint8Array): number {
  if (seen[at] === DIFFERS) return Math.max(score, START);
  if (seen[at] === PLAIN) return Math.max(0, score + walk.loss);
  const raised = score + walk.gain;
  if (score > 0 && raised > walk.doubt) flags[at] = DOUBTFUL;
  return raised;
}
