// What the shape of wanted, bench and rules cannot say: names once, kinds and formats that exist, channels that fit their cable, rules that do
// not contradict. Looks only at values of the right shape. Whether the bench can do the job is plan's to say.

import { plugKinds } from '../plan/index.ts';
import { findFormat, listFormats, parseSystem } from '../tape/index.ts';
import { nearWord } from './near-word.ts';
import { complaint, type SheetProblem } from './sheet-problem.ts';
import { type SheetText, valueAt } from './sheet-text.ts';
import { bytesOf, numbersOf, rateRangeOf } from './sheet-values.ts';
import { EXPECTED, HIGHEST_CHANNEL, nameOf, patternOf, type SheetPath, show } from './sheet-words.ts';

/** no tape has more; catches a slip of the keyboard */
export const HIGHEST_PROGRAMME = 64;

export function benchProblems(raw: unknown, text: SheetText): SheetProblem[] {
  const check = { raw, text };
  const decks = items(raw, ['bench', 'decks']);
  const recorders = items(raw, ['bench', 'recorders']);
  return [
    ...misfits(check, [['wanted', 'programmes']], (value) => numbersOf(value, HIGHEST_PROGRAMME) !== undefined),
    ...misfits(check, [['wanted', 'channels']], (value) => numbersOf(value, HIGHEST_CHANNEL) !== undefined),
    ...repeatedNames(check, decks, 'deck'),
    ...repeatedNames(check, recorders, 'recorder'),
    ...decks.flatMap((path) => deckProblems(check, path)),
    ...recorders.flatMap((path) => recorderProblems(check, path)),
    ...ruleProblems(check),
  ];
}

interface Check {
  readonly raw: unknown;
  readonly text: SheetText;
}

/** Paths of the members of a list; none where it is no list. */
function items(raw: unknown, path: SheetPath): SheetPath[] {
  const value = valueAt(raw, path);
  return Array.isArray(value) ? value.map((_, i) => [...path, i]) : [];
}

/** Only text and numbers are looked at; anything else the schema has refused. */
function misfits({ raw, text }: Check, paths: readonly SheetPath[], fits: (value: unknown) => boolean): SheetProblem[] {
  return paths.flatMap((path) => {
    const value = valueAt(raw, path);
    const isPlain = (one: unknown) => typeof one === 'string' || typeof one === 'number';
    const isLooked = isPlain(value) || (Array.isArray(value) && value.every(Number.isInteger));
    if (!isLooked || fits(value)) return [];
    const message = `${nameOf(path)} does not fit`;
    return [{ message, at: text.at(path), expected: EXPECTED[patternOf(path)], found: show(value) }];
  });
}

function repeatedNames({ raw, text }: Check, paths: readonly SheetPath[], what: string): SheetProblem[] {
  const seen = new Map<string, number>();
  return paths.flatMap((path, i) => {
    const name = valueAt(raw, [...path, 'name']);
    if (typeof name !== 'string') return [];
    const key = name.trim().toLowerCase();
    const before = seen.get(key);
    if (before === undefined) {
      seen.set(key, i);
      return [];
    }
    const message = `${what} ${i + 1} has the name of ${what} ${before + 1}`;
    const next = 'give each a name of its own: the plan and the patch sheets call them by it';
    return [{ message, at: text.at([...path, 'name']), found: show(name), next }];
  });
}

function deckProblems(check: Check, path: SheetPath): SheetProblem[] {
  const { raw, text } = check;
  const outputs = items(raw, [...path, 'outputs']);
  return [
    ...items(raw, [...path, 'plays']).flatMap((at) => formatProblem(check, at)),
    ...items(raw, [...path, 'systems']).flatMap((at) => {
      const problem = complaint(() => parseSystem(String(valueAt(raw, at))));
      return problem ? [{ ...problem, at: text.at(at) }] : [];
    }),
    ...repeatedNames(check, outputs, 'output'),
    ...outputs.flatMap((at) => [...kindProblem(check, at), ...widthProblems(check, at)]),
  ];
}

/** An id, a family, or the beginning of ids. */
function formatProblem({ raw, text }: Check, path: SheetPath): SheetProblem[] {
  const value = valueAt(raw, path);
  if (typeof value !== 'string') return [];
  const wanted = value.trim().toLowerCase();
  const isKnown = listFormats().some(
    ({ id, family }) => id === wanted || family === wanted || id.startsWith(`${wanted}-`),
  );
  const problem = isKnown ? undefined : complaint(() => findFormat(value));
  return problem ? [{ ...problem, at: text.at(path) }] : [];
}

/** A word of the user's own is allowed, a mistyped known one is not: it would fit nothing. */
function kindProblem({ raw, text }: Check, path: SheetPath): SheetProblem[] {
  const kind = valueAt(raw, [...path, 'kind']);
  const known = plugKinds();
  if (typeof kind !== 'string' || known.includes(kind)) return [];
  const next = nearWord(kind, known);
  if (!next) return [];
  const message = `${nameOf([...path, 'kind'])} is none that is known`;
  return [{ message, at: text.at([...path, 'kind']), expected: known.join(', '), found: show(kind), next }];
}

function widthProblems({ raw, text }: Check, path: SheetPath): SheetProblem[] {
  const [channels, choices, width] = ['channels', 'choices', 'width'].map((key) => valueAt(raw, [...path, key]));
  const out: SheetProblem[] = [];
  if (channels !== undefined && choices !== undefined) {
    const next = 'keep channels where they are fixed, choices where they can be switched';
    out.push({ message: 'both channels and choices', at: text.at([...path, 'choices'], true), next });
  }
  const sets = [
    { at: [...path, 'channels'], set: channels },
    ...items(raw, [...path, 'choices']).map((at) => ({ at, set: valueAt(raw, at) })),
  ];
  for (const { at, set } of sets) {
    if (!Array.isArray(set)) continue;
    if (new Set(set).size < set.length) {
      out.push({ message: `a channel stands twice in ${nameOf(at)}`, at: text.at(at), found: show(set) });
    }
    if (typeof width !== 'number' || set.length <= width) continue;
    const message = `${nameOf(at)} has more channels than the cable (width ${width})`;
    out.push({ message, at: text.at(at), found: show(set), next: 'correct one of the two' });
  }
  return out;
}

function recorderProblems(check: Check, path: SheetPath): SheetProblem[] {
  const { raw, text } = check;
  const inputs = items(raw, [...path, 'inputs']);
  const out = [
    ...repeatedNames(check, inputs, 'input'),
    ...inputs.flatMap((at) => kindProblem(check, at)),
    ...misfits(check, items(raw, [...path, 'rates']), (value) => rateRangeOf(value) !== undefined),
    ...misfits(
      check,
      [
        [...path, 'limit'],
        [...path, 'storage'],
      ],
      (value) => bytesOf(value) !== undefined,
    ),
  ];
  if (valueAt(raw, [...path, 'splits']) === true && valueAt(raw, [...path, 'limit']) === undefined) {
    const message = `splits of ${nameOf(path)} without limit`;
    out.push({
      message,
      at: text.at([...path, 'splits'], true),
      next: 'give limit, the size at which it begins a new file',
    });
  }
  return out;
}

/** Passes that no bench could keep to: a read of a programme is a pass of its own. */
function ruleProblems({ raw, text }: Check): SheetProblem[] {
  const passes = valueAt(raw, ['rules', 'passes']);
  const reads = valueAt(raw, ['wanted', 'reads']) ?? DEFAULT_READS;
  const programmes = numbersOf(valueAt(raw, ['wanted', 'programmes']), HIGHEST_PROGRAMME)?.length ?? 1;
  if (typeof passes !== 'number' || typeof reads !== 'number' || passes >= reads * programmes) return [];
  const each = programmes > 1 ? ` of ${programmes} programmes` : '';
  const message = `the rules contradict what is wanted: ${reads} reads${each} are ${reads * programmes} passes at least`;
  const next = 'allow more passes, or want fewer reads';
  return [{ message, at: text.at(['rules', 'passes']), found: show(passes), next }];
}

/** One read proves nothing: agreement needs two. */
export const DEFAULT_READS = 2;
