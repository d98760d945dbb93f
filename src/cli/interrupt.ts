// Ctrl-C: the first asks the work to stop at the next safe place, a later one ends the process at once.

/** npm passes the terminal's signal on a second time; a person does not press twice this fast and mean it. */
const ECHO_MS = 400;

export interface Interrupt {
  readonly signal: AbortSignal;
  /** takes the handlers away again */
  release(): void;
}

/** `tell` is called once, when the first signal arrives. */
export function watchInterrupt(tell: () => void): Interrupt {
  const controller = new AbortController();
  let firstAt = 0;
  const onSignal = (name: NodeJS.Signals) => {
    if (!controller.signal.aborted) {
      firstAt = Date.now();
      controller.abort();
      tell();
    } else if (Date.now() - firstAt > ECHO_MS) {
      release();
      process.kill(process.pid, name);
    }
  };
  const release = () => {
    process.off('SIGINT', onSignal);
    process.off('SIGTERM', onSignal);
  };
  process.on('SIGINT', onSignal);
  process.on('SIGTERM', onSignal);
  return { signal: controller.signal, release };
}
