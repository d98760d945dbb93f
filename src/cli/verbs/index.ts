// The verbs in the order in which help lists them. Functions, so that nothing is built at import time.
import type { AnyVerb } from '../command.ts';
import { alignVerb } from './align.ts';
import { assembleVerb } from './assemble.ts';
import { chainVerb } from './chain.ts';
import { cutVerb } from './cut.ts';
import { demoVerb } from './demo.ts';
import { deriveVerb } from './derive.ts';
import { examineVerb } from './examine.ts';
import { formatsVerb } from './formats.ts';
import { measureVerb } from './measure.ts';
import { planVerb } from './plan.ts';
import { rateVerb } from './rate.ts';
import { reconcileVerb } from './reconcile.ts';
import { renderVerb } from './render.ts';
import { runVerb } from './run.ts';
import { signalVerb } from './signal.ts';
import { statusVerb } from './status.ts';
import { timecodeVerb } from './timecode.ts';

const MAKERS: readonly (() => AnyVerb)[] = [
  planVerb,
  runVerb,
  examineVerb,
  alignVerb,
  reconcileVerb,
  assembleVerb,
  timecodeVerb,
  cutVerb,
  signalVerb,
  chainVerb,
  measureVerb,
  deriveVerb,
  renderVerb,
  rateVerb,
  statusVerb,
  formatsVerb,
  demoVerb,
];

export function allVerbs(): AnyVerb[] {
  return MAKERS.map((make) => make());
}
