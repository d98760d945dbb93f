// The verbs in the order in which help lists them. Functions, so that nothing is built at import time.
import type { AnyVerb } from '../command.ts';
import { examineVerb } from './examine.ts';
import { formatsVerb } from './formats.ts';

const MAKERS: readonly (() => AnyVerb)[] = [examineVerb, formatsVerb];

export function allVerbs(): AnyVerb[] {
  return MAKERS.map((make) => make());
}
