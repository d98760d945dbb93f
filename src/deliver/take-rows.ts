// How documents name a capture of several files, and the rows that say which file begins where and what the joints rest on.
// Shared by the text of `examine` and all faces of the report.
import { formatTime, type Problem, type Rate } from '../base/index.ts';
import type { TakeJoint } from '../media/index.ts';
import type { CaptureFiles } from './documents.ts';
import { countOf, formatConfidence } from './plain-words.ts';
import { left, right, wide } from './report-table.ts';

/** "p1.wav", or "p1.wav and 2 more parts". */
export function captureName({ path, parts = [] }: CaptureFiles & { readonly path: string }): string {
  return parts.length < 2 ? path : `${path} and ${countOf(parts.length - 1, 'more part')}`;
}

export const PART_COLUMNS = [wide('file'), left('from'), right('first frame'), right('frames'), wide('joined because')];

export function partRows({ parts = [], joints = [], rate }: CaptureFiles & { readonly rate: Rate }): string[][] {
  return parts.map(({ path, start, frames }, i) => [
    path,
    formatTime(start, rate),
    `${start}`,
    `${frames}`,
    i === 0 ? '-' : jointText(joints[i - 1]),
  ]);
}

function jointText({ evidence, gapFrames = 0, confidence }: TakeJoint): string {
  const telling = evidence.filter(({ says }) => says !== 'nothing').map(({ detail }) => detail);
  const gap = gapFrames > 0 ? [`GAP of ${countOf(gapFrames, 'frame')}`] : [];
  const reasons = [...gap, ...telling].join('; ') || 'nothing tells';
  return confidence === 0 ? `${reasons} (told to)` : `${reasons} (${formatConfidence(confidence)})`;
}

/** One sentence where a file was not read as its contents say; empty otherwise. */
export function readWithText({ readWith }: CaptureFiles): string {
  const { raw, trailing, segment } = readWith ?? {};
  return [
    raw === undefined ? '' : `read as bare samples (${raw}), as told`,
    segment === undefined ? '' : `segment ${segment} of the stream, as told`,
    trailing ? 'audio behind the stated end is read, where there is any, as told' : '',
  ]
    .filter((text) => text !== '')
    .join('; ');
}

/** What happened, what was expected and found, what to do. */
export function problemText({ message, expected, found, next }: Problem): string {
  return [message, expected && `expected ${expected}`, found && `found ${found}`, next && `next: ${next}`]
    .filter(Boolean)
    .join('; ');
}
