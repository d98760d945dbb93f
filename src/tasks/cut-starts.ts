// A list of given starts, such as start IDs read from the tape: one a line, frames or a time, with a title behind it if there is one. Not the cut
// list.
import type { Rate } from '../base/index.ts';
import { startFrame } from './cut-list-text.ts';
import { readTextFile } from './text-file.ts';

export interface Start {
  readonly title: string;
  frameAt(rate: Rate): number;
}

const MOST_BYTES = 1_048_576;

/** Lines that begin with # are passed over. A start that is none is refused with its line when it is asked for. */
export async function readStarts(path: string): Promise<Start[]> {
  const lines = (await readTextFile(path, 'list of starts', MOST_BYTES)).split(/\r?\n/);
  return lines.flatMap((text, i): Start[] => {
    const [, start, title] = /^\s*([^\s,;]+)[\s,;]*(.*?)\s*$/.exec(text) ?? [];
    if (start === undefined || start.startsWith('#')) return [];
    const draft = {
      line: i + 1,
      master: '',
      start,
      channels: [],
      isCut: true,
      title,
      sureness: 'given',
      why: '',
    } as const;
    return [{ title, frameAt: (rate) => startFrame(draft, path, rate) }];
  });
}
