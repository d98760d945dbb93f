// The JSON document of `status` and its text: every field of one channel-status block. Judges nothing.
import type { StatusBlock } from '../tape/index.ts';
import { left, right, wide } from './report-table.ts';
import { textTable } from './text-table.ts';

export interface StatusDocument extends StatusBlock {
  readonly schema: 'tapeproof/status@1';
}

export function statusDocument(block: StatusBlock): StatusDocument {
  return { schema: 'tapeproof/status@1', ...block };
}

export function statusText({ use, hex, values, check, bytesSeen }: StatusDocument): string {
  const rows = values
    .filter(({ label, code }) => label !== 'reserved' || code !== 0)
    .map(({ key, label, code, words, note }) => [key, label, `${code}`, note ? `${words} (${note})` : words]);
  const head = `Channel status, ${use} use, ${bytesSeen} of 24 bytes: ${hex}`;
  const table = textTable([left('field'), left('what'), right('code'), wide('meaning')], rows);
  const tail =
    check === null
      ? checkNote(use)
      : check.isRight
        ? 'The check byte is right.'
        : `The check byte is WRONG: 0x${check.expected.toString(16)} would fit.`;
  return `${[head, table, tail].join('\n\n')}\n`;
}

function checkNote(use: StatusBlock['use']): string {
  return use === 'consumer' ? 'A consumer block has no check byte.' : 'The check byte was not seen.';
}
