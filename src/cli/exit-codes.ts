// The one table of exit codes: what the process ends with, the help and docs/exit-codes.md all come from here.

export const EXIT = { done: 0, needsPerson: 1, failed: 2 } as const;

export type ExitCode = (typeof EXIT)[keyof typeof EXIT];

export interface ExitMeaning {
  readonly code: ExitCode;
  readonly meaning: string;
  readonly examples: string;
}

export const EXIT_CODES: readonly ExitMeaning[] = [
  { code: EXIT.done, meaning: 'Done.', examples: 'everything asked for was done and nothing needs a decision' },
  {
    code: EXIT.needsPerson,
    meaning: 'Done, and something needs a person.',
    examples:
      'unproven spans, a join that was refused, a damaged or partly readable file, a chain that is not transparent',
  },
  {
    code: EXIT.failed,
    meaning: 'Could not do it.',
    examples: 'unknown option, missing file, broken sheet, full disk, stopped with Ctrl-C',
  },
];

/** The lines under "Exit codes" in every help text. */
export function exitCodeHelp(): string {
  return EXIT_CODES.map(({ code, meaning, examples }) => `  ${code}  ${meaning}\n       ${examples}`).join('\n');
}
