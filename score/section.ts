// Sections of docs/scores.md that different scripts write: each renews its own and leaves the others as they are.
import { readFileSync, writeFileSync } from 'node:fs';

const DOCUMENT = new URL('../docs/scores.md', import.meta.url);
/** Titles of sections that are not written by score.ts. */
const OWN_SCRIPTS = ['Word lengths and laws', 'Changes of rate'];

/** The whole document anew, but for the sections that other scripts write. */
export function writeDocument(text: string): void {
  const kept = OWN_SCRIPTS.map((title) => sectionOf(readFileSync(DOCUMENT, 'utf8'), title));
  writeFileSync(DOCUMENT, [text.trimEnd(), ...kept.filter((section) => section !== '')].join('\n\n').concat('\n'));
}

/** `text` begins with its heading. */
export function writeSection(title: string, text: string): void {
  const all = readFileSync(DOCUMENT, 'utf8');
  const old = sectionOf(all, title);
  const rest = old === '' ? all : all.replace(old, '');
  writeFileSync(DOCUMENT, `${rest.trimEnd()}\n\n${text.trimEnd()}\n`);
}

/** From the heading to the next of its rank; empty where there is none. */
function sectionOf(text: string, title: string): string {
  const from = text.indexOf(`## ${title}\n`);
  if (from < 0) return '';
  const next = text.indexOf('\n## ', from + 1);
  return text.slice(from, next < 0 ? text.length : next + 1).trimEnd();
}
