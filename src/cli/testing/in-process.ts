// The command line inside the test's own process: the same code path as the program from its arguments to its exit code, without
// the start of a process for each of a hundred files.
import { main } from '../main.ts';

export interface Ended {
  readonly code: number;
  readonly out: string;
  readonly err: string;
}

/** Not for verbs that run at the same time: standard output belongs to the process. */
export async function tapeproofInside(args: readonly string[]): Promise<Ended> {
  const { stdout, stderr, exitCode } = process;
  const caught = { out: '', err: '' };
  const writers = { out: stdout.write, err: stderr.write };
  const catching = (key: 'out' | 'err') =>
    ((text: string | Uint8Array) => {
      caught[key] += typeof text === 'string' ? text : Buffer.from(text).toString('utf8');
      return true;
    }) as typeof stdout.write;
  stdout.write = catching('out');
  stderr.write = catching('err');
  try {
    process.exitCode = 0;
    await main(args);
    return { code: Number(process.exitCode), ...caught };
  } finally {
    stdout.write = writers.out;
    stderr.write = writers.err;
    process.exitCode = exitCode ?? 0;
  }
}
