// Cancelling and progress, as plain shapes, so that pure layers need neither Node nor DOM types.
import { TapeproofError } from './errors.ts';

/** The part of AbortSignal that work needs: an AbortSignal can be passed as it is. */
export interface StopSignal {
  readonly aborted: boolean;
}

/** Throws the cancel error, which always travels up untouched. */
export function throwIfStopped(stop: StopSignal | undefined): void {
  if (stop?.aborted) throw new TapeproofError('cancelled', 'stopped on request; nothing that was finished is lost');
}

/** `done` of `total` units of the named stage. `total` is 0 when unknown. */
export interface ProgressEvent {
  readonly stage: string;
  readonly done: number;
  readonly total: number;
  readonly unit: 'bytes' | 'frames' | 'items';
  /** frames per second, so that frames can be told as times real time */
  readonly rateHz?: number;
}

export type Progress = (event: ProgressEvent) => void;
