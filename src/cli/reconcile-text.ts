// What `reconcile` shows: how far the reads agree, what the composite is made of, and where it is.
import { secondsOf } from '../base/index.ts';
import { textTable, wrapText } from '../deliver/index.ts';
import type { ReconcileDocument } from '../tasks/index.ts';
import { listText, paragraphs, tallyText } from './tally-text.ts';

export function reconcileText(document: ReconcileDocument): string {
  const { out, edits, frames, rate, bits, channels, problems } = document;
  return paragraphs([
    wrapText(
      `${out}: ${channels.length} channels, ${bits} bit, ${frames} frames (${secondsOf(frames, rate).toFixed(2)} s)`,
    ),
    tallyText(channels),
    agreementText(document),
    listText('Problems', problems),
    wrapText(`Edit list: ${edits}`),
  ]);
}

function agreementText({ agreement, files }: ReconcileDocument): string {
  const rows = agreement.map(({ channel, a, b, comparedFrames, equalFrames }) => [
    `${channel}`,
    files[a.capture],
    files[b.capture],
    `${comparedFrames}`,
    `${comparedFrames - equalFrames}`,
  ]);
  const columns = [
    { header: 'channel', align: 'right' as const },
    { header: 'read', flexible: true },
    { header: 'other read', flexible: true },
    { header: 'frames in both', align: 'right' as const },
    { header: 'different', align: 'right' as const },
  ];
  return rows.length === 0 ? '' : `Agreement of the reads\n${textTable(columns, rows, { indent: 2 })}`;
}
