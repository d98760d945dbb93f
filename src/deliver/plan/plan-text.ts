// A plan as text for terminals and plan.txt. The patch sheets of its passes are patch-text's.
import type { PlanConnection, PlanPass } from '../../plan/index.ts';
import { textTable, wrapText } from '../text-table.ts';
import type { PlanDocument } from './plan-document.ts';
import {
  comparison,
  costRows,
  firstSentence,
  hoursText,
  joinSentences,
  MARKS,
  markedText,
  readRows,
  signalText,
  storageText,
} from './plan-words.ts';

export function planText(document: PlanDocument): string {
  const { tape, passes, minutes, cost, ruledOut, idle, trusted, assumptions, remarks, misplays, written } = document;
  const tapeLine = [tape.formatLabel ?? 'format not given', tape.system, signalText(document), `${minutes} min a run`];
  const sections: (string | null)[] = [
    wrapText(firstSentence(document)),
    wrapText(tapeLine.filter((text) => text !== null).join(' · ')),
    ...passes.map(passText),
    block(
      'Reads',
      textTable(
        [
          { header: 'channel', align: 'right' },
          { header: 'passes' },
          { header: 'decks' },
          { header: 'independence', flexible: true },
        ],
        readRows(document),
        { indent: 2 },
      ),
    ),
    block('What joins the captures', list(joinSentences(document))),
    block(
      'Cost (a point is about a minute of a person)',
      textTable([{ header: '' }, { header: 'amount' }, { header: 'points', align: 'right' }], costRows(cost), {
        indent: 2,
      }),
    ),
    list(comparison(document)),
    block(
      'Ruled out',
      list(ruledOut.map(({ about, name, why, help }) => `${about} ${name}: ${why}. What would help: ${help}.`)),
    ),
    block('Not needed', list(idle.length > 0 ? [idle.join(', ')] : [])),
    block('Taken on trust', list([...assumptions, ...trusted])),
    block('Mind', list(remarks)),
    block('On the wrong deck', list(misplays.map(({ when, effect }) => `${capital(when)}: ${markedText(effect)}`))),
    misplays.length > 0 ? wrapText(MARKS, { indent: 2 }) : null,
    written === null ? null : block(`In ${written.folder}`, list(written.files)),
  ];
  return `${sections.filter((text) => text !== null && text !== '').join('\n\n')}\n`;
}

function passText(pass: PlanPass): string {
  const { captures, connections } = pass;
  const cables = connections.map((one) => [
    `${one.output}${setting(one)}`,
    `${one.recorder}: ${one.input}`,
    channelText(one.channels),
    one.adapter ?? one.cable,
  ]);
  const files = captures.map((capture) => [
    capture.file,
    channelText(capture.channels),
    capture.isStream ? 'data' : `${capture.bits} bit`,
    storageText(capture),
  ]);
  return [
    `${passTitle(pass)}  (${pass.minutes} min, ${hoursText(pass.hours)} of work)`,
    textTable(
      [{ header: 'output' }, { header: 'input' }, { header: 'channels' }, { header: 'through', flexible: true }],
      cables,
      { indent: 2 },
    ),
    textTable(
      [
        { header: 'file' },
        { header: 'channels' },
        { header: 'word' },
        { header: 'size and split points', flexible: true },
      ],
      files,
      { indent: 2 },
    ),
  ].join('\n');
}

export function passTitle({ pass, programme, deck }: PlanPass): string {
  return `Pass ${pass}${programme === null ? '' : `, programme ${programme}`}, on ${deck}`;
}

/** 0 is a file channel that nothing wanted is on. */
export function channelText(channels: readonly number[]): string {
  return channels.map((channel) => (channel === 0 ? '-' : channel)).join(' ');
}

function setting({ mustBeSet, isNew }: PlanConnection): string {
  const marks = [...(mustBeSet ? ['set it'] : []), ...(isNew ? [] : ['stays'])];
  return marks.length > 0 ? ` (${marks.join(', ')})` : '';
}

function block(title: string, body: string): string | null {
  return body === '' ? null : `${title}\n${body}`;
}

function list(lines: readonly string[]): string {
  return lines.map((line) => wrapText(line, { indent: 2, hang: 2 })).join('\n');
}

function capital(text: string): string {
  return text.charAt(0).toUpperCase() + text.slice(1);
}
