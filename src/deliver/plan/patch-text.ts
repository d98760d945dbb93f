// Patch sheets as text, to print and tick off. What they say is patch-sheet's.
import { textTable, wrapText } from '../text-table.ts';
import type { PatchSheet, PatchStep } from './patch-sheet.ts';
import { channelText } from './plan-words.ts';

export function patchText(sheet: PatchSheet): string {
  const { title, facts, clock, steps, fields, cables } = sheet;
  const rows = cables.map(({ letter, connection: one }) => [
    letter,
    one.output,
    `${one.recorder}: ${one.input}`,
    channelText(one.channels),
    one.isNew ? 'new' : 'stays',
    one.adapter ?? one.cable,
  ]);
  const columns = ['', 'output', 'input', 'channels', ''].map((header) => ({ header }));
  const heading = wrapText(title);
  return [
    `${heading}\n${'='.repeat(Math.min(100, heading.length))}`,
    facts.map((fact) => wrapText(fact)).join('\n'),
    textTable([...columns, { header: 'through', flexible: true }], rows),
    wrapText(clock),
    ...steps.map(stepText),
    `Write down\n${fields.map((field) => `${wrapText(`${field}:`, { indent: 2 })}\n  ${'_'.repeat(70)}`).join('\n')}`,
  ].join('\n\n');
}

function stepText({ title, tasks, cautions }: PatchStep): string {
  return [
    wrapText(title),
    ...cautions.map((text) => wrapText(`! ${text}`, { indent: 2, hang: 2 })),
    ...tasks.map((text) => wrapText(`[ ] ${text}`, { indent: 2, hang: 4 })),
  ].join('\n');
}
