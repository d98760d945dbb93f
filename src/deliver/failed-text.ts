// Files of several that failed, as text: the file, what was not done to it, and the whole error line by line. Not for the one error that ends a command.
import type { FailedFile } from './documents.ts';
import { wrapText } from './text-table.ts';

/** One paragraph per file. `what`: "not read" … */
export function failedTexts(failed: readonly FailedFile[] | undefined, what: string): string[] {
  return (failed ?? []).map(({ path, error }) =>
    [wrapText(`${path}: ${what}`), ...error.split('\n').map((line) => wrapText(line, { indent: 2 }))].join('\n'),
  );
}
