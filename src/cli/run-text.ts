// What `run` shows on the terminal: the sentence, the tally, the worst places, and where the report is. The whole report
// is in the files.
import { formatTime, secondsOf } from '../base/index.ts';
import { type TransferReport, textTable, wrapText } from '../deliver/index.ts';
import { listText, paragraphs, tallyText } from './tally-text.ts';

const MOST_PLACES = 10;

export function runText(report: TransferReport, out: string): string {
  const { tape, sentence, statements, channels, refusedJoins, leftOut, masters } = report;
  return paragraphs([
    wrapText(`Tape ${tape.id}: ${sentence}`),
    ...statements.map((statement) => wrapText(statement)),
    `Frames per channel\n${tallyText(channels)}`,
    placesText(report),
    listText(
      'Refused joins',
      refusedJoins.map((join) => `${join.captures.join(', ')}: ${join.reason}`),
    ),
    listText('Kept out of the master', leftOut),
    listText(`In ${out}`, [...masters.map(({ path }) => path), 'report.html  report.txt  report.json']),
  ]);
}

function placesText({ places, timelines }: TransferReport): string {
  if (places.length === 0) return '';
  const worst = [...places].sort((a, b) => b.lostFrames - a.lostFrames || a.start - b.start).slice(0, MOST_PLACES);
  const rows = worst
    .sort((a, b) => a.group - b.group || a.start - b.start)
    .map((place) => {
      const line = timelines.find(({ group }) => group === place.group) ?? timelines[0];
      return [
        formatTime(place.start - line.start, line.rate),
        secondsOf(place.lostFrames, line.rate).toFixed(4),
        `${place.lostFrames}`,
        place.channels.join(', '),
      ];
    });
  const columns = [
    { header: 'at' },
    { header: 'lost s', align: 'right' as const },
    { header: 'frames', align: 'right' as const },
    { header: 'channels', flexible: true },
  ];
  const rest = places.length - worst.length;
  const table = `Places of loss\n${textTable(columns, rows, { indent: 2 })}`;
  return rest > 0 ? `${table}\n  and ${rest} smaller; the report lists them` : table;
}
