// A worker thread beside this one, as every user of one needs it: started from the file next to the caller, waited for, its failure told to whoever
// waits, ended for good. Here because media/ is the lowest layer that may name Node. Not for what the two say to each other.
import { type Transferable, Worker } from 'node:worker_threads';

/** A thread to be started: the caller's `import.meta.url`, the file beside it without its ending, and what it is given. */
interface ToStart {
  readonly beside: string;
  readonly file: string;
  readonly data: unknown;
}

/** One that runs already and has no listeners. */
interface Started {
  readonly worker: Worker;
}

interface Talk<From> {
  readonly take: (message: From) => void;
  /** said when it ends without having been asked to */
  readonly endedEarly: string;
}

export type CompanionSetup<From> = Talk<From> & (ToStart | Started);

export class CompanionThread<To, From> {
  readonly #worker: Worker;
  #wake: () => void = () => {};
  #error: unknown;

  constructor(setup: CompanionSetup<From>) {
    const { take, endedEarly } = setup;
    this.#worker = 'worker' in setup ? setup.worker : start(setup);
    this.#worker.on('message', (message: From) => {
      take(message);
      this.#wake();
    });
    this.#worker.on('error', (error) => this.fail(error));
    this.#worker.on('exit', () => this.fail(new Error(endedEarly)));
  }

  send(message: To, transfer: readonly Transferable[] = []): void {
    this.#worker.postMessage(message, transfer);
  }

  /** Looked at again after each message. Throws what the thread failed with, unless it is so already. */
  async until(isSo: () => boolean): Promise<void> {
    while (!isSo()) {
      if (this.#error !== undefined) throw this.#error;
      await new Promise<void>((resolve) => {
        this.#wake = resolve;
      });
    }
  }

  /** The first failure counts. */
  fail(error: unknown): void {
    this.#error ??= error;
    this.#wake();
  }

  async close(): Promise<void> {
    this.#worker.removeAllListeners('exit');
    await this.#worker.terminate();
  }
}

function start({ beside, file, data }: ToStart): Worker {
  // The compiler does not rename what is no import, and the tests run the sources.
  const ending = beside.endsWith('.ts') ? 'ts' : 'js';
  return new Worker(new URL(`./${file}.${ending}`, beside), { workerData: data, execArgv: [] });
}
