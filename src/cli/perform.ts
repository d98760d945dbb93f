// Runs the work of a verb: progress and talk to standard error, the result to standard output as text or JSON, and the
// exit code. The only place where a verb's result leaves the process.
import { describeError, type Progress, type StopSignal, stableJson } from '../base/index.ts';
import { coloursFor } from './colour.ts';
import { EXIT, type ExitCode } from './exit-codes.ts';
import { watchInterrupt } from './interrupt.ts';
import { progressReporter, quietReporter } from './progress.ts';

/** The options every verb has. */
export interface SharedOptions {
  readonly json?: boolean | undefined;
  readonly quiet?: boolean | undefined;
}

export interface WorkContext {
  readonly stop: StopSignal;
  readonly progress: Progress;
}

export interface Outcome {
  /** what --json prints */
  readonly document: unknown;
  /** what people read; made only when it is wanted */
  text(): string;
  readonly needsPerson: boolean;
}

export async function perform(options: SharedOptions, work: (context: WorkContext) => Promise<Outcome>): Promise<void> {
  const talk = options.quiet ? quietReporter() : progressReporter(process.stderr);
  const interrupt = watchInterrupt(() => talk.say('stopping at the next safe place (Ctrl-C again to end at once)'));
  try {
    const outcome = await work({ stop: interrupt.signal, progress: talk.progress });
    talk.close();
    process.exitCode = outcome.needsPerson ? EXIT.needsPerson : EXIT.done;
    process.stdout.write(options.json ? stableJson(outcome.document) : withLineEnd(outcome.text()));
  } catch (error) {
    talk.close();
    process.exitCode = tellError(error);
  } finally {
    interrupt.release();
  }
}

/** Says on standard error why it could not be done. A bug (an error that is not ours) also shows where it happened. */
export function tellError(error: unknown): ExitCode {
  const { error: mark } = coloursFor(process.stderr);
  process.stderr.write(`${mark('tapeproof:')} ${describeError(error)}\n`);
  if (isBug(error))
    process.stderr.write(`${error.stack}\nThis is a fault in tapeproof; please report it with the lines above.\n`);
  return EXIT.failed;
}

/** Ours carry a kind; the system's carry a code. What has neither is a failed assertion. */
function isBug(error: unknown): error is Error {
  return error instanceof Error && !('kind' in error) && !('code' in error);
}

function withLineEnd(text: string): string {
  return text.endsWith('\n') ? text : `${text}\n`;
}
