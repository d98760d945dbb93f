// What every task gets besides its input: how it may be stopped and whom it tells how far it is.
import type { Progress, StopSignal } from '../base/index.ts';

export interface TaskContext {
  readonly stop?: StopSignal;
  readonly progress?: Progress;
}
