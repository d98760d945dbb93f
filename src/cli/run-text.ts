// What `run` shows on the terminal: the sentence, the tally, the worst places, what was not as it should be, and where the
// report is. The whole report is in the files.
import { formatTime, secondsOf } from '../base/index.ts';
import { type TransferReport, textTable, wrapText } from '../deliver/index.ts';
import { listText, paragraphs, tallyText } from './tally-text.ts';

const MOST_PLACES = 10;

export function runText(report: TransferReport, out: string): string {
  const { tape, sentence, channels, refusedJoins, contradictions, leftOut, masters } = report;
  return paragraphs([
    wrapText(`Tape ${tape.id}: ${sentence}`),
    tallyText(channels),
    placesText(report),
    listText('Slips', slipLines(report)),
    listText(
      'Captures that contradict each other',
      report.loopConflicts.map(({ reason }) => reason),
    ),
    listText(
      'Refused joins',
      refusedJoins.map((join) => `${join.captures.join(', ')}: ${join.reason}`),
    ),
    listText('Sheet and samples disagree', contradictions),
    listText('Kept out of the master', leftOut),
    listText('Damaged or incomplete captures', damageLines(report)),
    listText('Remarks on the captures', remarkLines(report)),
    listText(`In ${out}`, [...masters.map(({ path }) => path), 'report.html, report.txt, report.json']),
  ]);
}

function slipLines({ slips, captures }: TransferReport): string[] {
  return slips.map(({ capture, at, lostFrames }) => {
    const what = lostFrames > 0 ? `${lostFrames} samples lost` : `${-lostFrames} samples repeated`;
    return `${captures[capture].path}: ${what} at frame ${at}; put in its place`;
  });
}

function damageLines({ captures }: TransferReport): string[] {
  return captures
    .filter(({ readAs }) => readAs === 'partial')
    .flatMap(({ path, problems }) => {
      const lines = problems
        .filter(({ severity }) => severity === 'damage')
        .map((problem) => damageLine(path, problem));
      return lines.length > 0 ? lines : [`${path}: read only in part`];
    });
}

/** Warnings about what was read or left out beyond what the sheet says; the report lists the rest. */
function remarkLines({ captures }: TransferReport): string[] {
  return captures.flatMap(({ path, problems }) =>
    problems
      .filter(({ id, severity }) => severity !== 'damage' && (id.startsWith('take-') || severity === 'warning'))
      .map((problem) => damageLine(path, problem)),
  );
}

function damageLine(path: string, { message, next }: TransferReport['captures'][number]['problems'][number]): string {
  return `${path}: ${message}${next === undefined ? '' : `; next: ${next}`}`;
}

function placesText({ places, timelines }: TransferReport): string {
  if (places.length === 0) return '';
  const worst = [...places].sort((a, b) => b.lostFrames - a.lostFrames || a.start - b.start).slice(0, MOST_PLACES);
  const hasParts = timelines.length > 1;
  const rows = worst
    .sort((a, b) => a.group - b.group || a.start - b.start)
    .map(({ group, start, lostFrames, channels }) => {
      const { rate } = timelines.find((line) => line.group === group) ?? timelines[0];
      const part = hasParts ? [`${group + 1}`] : [];
      return [
        ...part,
        formatTime(start, rate),
        secondsOf(lostFrames, rate).toFixed(4),
        `${lostFrames}`,
        channels.join(', '),
      ];
    });
  const columns = [
    ...(hasParts ? [{ header: 'part', align: 'right' as const }] : []),
    { header: 'at' },
    { header: 'lost s', align: 'right' as const },
    { header: 'frames', align: 'right' as const },
    { header: 'channels', flexible: true },
  ];
  const rest = places.length - worst.length;
  const table = `Places of loss\n${textTable(columns, rows, { indent: 2 })}`;
  return rest > 0 ? `${table}\n  and ${rest} smaller; the report lists them` : table;
}
