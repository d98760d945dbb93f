// Entry of the command line: reads as the table of contents of the program. Loads no task until a verb runs, so that help
// is quick.
import { exitCodeOfUsage, newProgram } from './command.ts';
import { tellError } from './perform.ts';
import { allVerbs } from './verbs/index.ts';

/** `argv` without the interpreter and the script. Sets process.exitCode (exit-codes.ts); never throws. */
export async function main(argv: readonly string[]): Promise<void> {
  endQuietlyOnClosedPipe();
  try {
    await newProgram(allVerbs()).parseAsync([...argv], { from: 'user' });
  } catch (error) {
    process.exitCode = exitCodeOfUsage(error) ?? tellError(error);
  }
}

/** `tapeproof … | head` is no failure: the reader has what it wanted. */
function endQuietlyOnClosedPipe(): void {
  process.stdout.on('error', (error: NodeJS.ErrnoException) => {
    if (error.code !== 'EPIPE') throw error;
    process.exit(process.exitCode ?? 0);
  });
}
