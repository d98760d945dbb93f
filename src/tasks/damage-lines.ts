// Audio of the inputs that was not read, in one line each: for the results that carry no document of every file.
import type { Problem } from '../base/index.ts';

export function damageLines(path: string, problems: readonly Problem[]): string[] {
  return problems
    .filter(({ severity }) => severity === 'damage')
    .map(({ message, next }) => `${path}: ${message}${next === undefined ? '' : `; next: ${next}`}`);
}
