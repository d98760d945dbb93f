// What `demo` shows: the story, what the job found, and each of the tape's faults held against the truth.
import { join } from 'node:path';
import { textTable, wrapText } from '../deliver/index.ts';
import type { DemoDocument } from '../tasks/index.ts';
import { runText } from './run-text.ts';
import { paragraphs } from './tally-text.ts';

export function demoText({ story, sheet, result, report, checks }: DemoDocument): string {
  const columns = [
    { header: 'what', flexible: true },
    { header: 'truth', flexible: true },
    { header: 'found', flexible: true },
    { header: 'agrees' },
  ];
  const rows = checks.map(({ what, truth, found, holds }) => [what, truth, found, holds ? 'yes' : 'NO']);
  return paragraphs([
    wrapText(story.join(' ')),
    `$ tapeproof run ${sheet} --out ${result}`,
    runText(report, result),
    `Held against the truth\n${textTable(columns, rows, { indent: 2 })}`,
    wrapText(`Open ${join(result, 'report.html')} in a browser for the whole report.`),
  ]);
}
