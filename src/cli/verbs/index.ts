// The verbs in the order in which help lists them. Functions, so that nothing is built at import time.
import type { AnyVerb } from '../command.ts';

const MAKERS: readonly (() => AnyVerb)[] = [];

export function allVerbs(): AnyVerb[] {
  return MAKERS.map((make) => make());
}
