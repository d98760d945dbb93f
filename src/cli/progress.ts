// Progress on standard error: one line that rewrites itself on a terminal, a plain line now and then elsewhere, nothing
// when quiet. Not for results: those go to standard output.
import type { Progress, ProgressEvent } from '../base/index.ts';

export interface TalkStream {
  readonly isTTY?: boolean;
  readonly columns?: number;
  write(text: string): unknown;
}

export interface ProgressReporter {
  readonly progress: Progress;
  /** A remark on its own line, without tearing the progress line. */
  say(line: string): void;
  /** Ends the line that is being rewritten. */
  close(): void;
}

interface Stage {
  readonly startedAt: number;
  toldAt: number;
  isFinished: boolean;
}

const REWRITE_MS = 100;
const PLAIN_MS = 5000;
/** a rate from less than this says nothing */
const SETTLED_MS = 500;

export function quietReporter(): ProgressReporter {
  return { progress: () => {}, say: () => {}, close: () => {} };
}

/** `now` in milliseconds; passed in so that tests own the clock. */
export function progressReporter(stream: TalkStream, now: () => number = Date.now): ProgressReporter {
  return stream.isTTY ? rewritingReporter(stream, now) : plainReporter(stream, now);
}

function rewritingReporter(stream: TalkStream, now: () => number): ProgressReporter {
  const stages = new Map<string, Stage>();
  let shown = '';
  const show = (line: string) => {
    stream.write(`\r${line.padEnd(shown.length)}`);
    shown = line;
  };
  const clear = () => {
    if (shown) stream.write(`\r${' '.repeat(shown.length)}\r`);
    shown = '';
  };
  return {
    progress(event) {
      const at = now();
      const stage = stageOf(stages, event, at);
      if (at - stage.toldAt < REWRITE_MS && !isFinal(event) && shown) return;
      stage.toldAt = at;
      show(progressLine(event, at - stage.startedAt).slice(0, (stream.columns || 80) - 1));
    },
    say(line) {
      clear();
      stream.write(`${line}\n`);
    },
    close: clear,
  };
}

function plainReporter(stream: TalkStream, now: () => number): ProgressReporter {
  const stages = new Map<string, Stage>();
  return {
    progress(event) {
      const at = now();
      const stage = stageOf(stages, event, at);
      const isEnd = isFinal(event) && !stage.isFinished;
      if (!isEnd && (at - stage.toldAt < PLAIN_MS || stage.isFinished)) return;
      stage.toldAt = at;
      stage.isFinished = isFinal(event);
      stream.write(`${progressLine(event, at - stage.startedAt)}\n`);
    },
    say: (line) => stream.write(`${line}\n`),
    close: () => {},
  };
}

function stageOf(stages: Map<string, Stage>, event: ProgressEvent, at: number): Stage {
  const known = stages.get(event.stage);
  if (known && !(known.isFinished && event.done === 0)) return known;
  const fresh: Stage = { startedAt: at, toldAt: at, isFinished: false };
  stages.set(event.stage, fresh);
  return fresh;
}

function isFinal(event: ProgressEvent): boolean {
  return event.total > 0 && event.done >= event.total;
}

/** "examining p1.wav  42 %  310.2 MB/s  0:12 left" */
export function progressLine(event: ProgressEvent, elapsedMs: number): string {
  const parts = [event.stage];
  if (event.total > 0) parts.push(`${Math.min(100, Math.floor((event.done / event.total) * 100))} %`);
  else if (event.unit !== 'items') parts.push(formatAmount(event));
  if (elapsedMs >= SETTLED_MS && event.done > 0) {
    parts.push(formatRateOf(event, elapsedMs / 1000));
    if (event.total > event.done) {
      parts.push(`${formatClock(((event.total - event.done) / event.done) * (elapsedMs / 1000))} left`);
    }
  }
  return parts.join('  ');
}

function formatAmount(event: ProgressEvent): string {
  return event.unit === 'bytes' ? `${(event.done / 1e6).toFixed(1)} MB` : `${event.done} frames`;
}

function formatRateOf(event: ProgressEvent, seconds: number): string {
  const perSecond = event.done / seconds;
  if (event.unit === 'bytes') return `${(perSecond / 1e6).toFixed(1)} MB/s`;
  if (event.unit === 'items') return `${perSecond.toFixed(1)} a second`;
  return event.rateHz
    ? `${(perSecond / event.rateHz).toFixed(0)} x real time`
    : `${(perSecond / 1e6).toFixed(1)} M frames/s`;
}

/** m:ss, or h:mm:ss from an hour on */
function formatClock(seconds: number): string {
  const whole = Math.ceil(seconds);
  const pad = (value: number) => String(value).padStart(2, '0');
  const hours = Math.floor(whole / 3600);
  const minutes = Math.floor(whole / 60) % 60;
  return hours > 0 ? `${hours}:${pad(minutes)}:${pad(whole % 60)}` : `${minutes}:${pad(whole % 60)}`;
}
