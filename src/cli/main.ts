// Entry of the command line.
export async function main(_argv: readonly string[]): Promise<void> {
  process.exitCode = 2;
}
