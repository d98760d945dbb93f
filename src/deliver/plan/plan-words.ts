// The sentences and rows of a plan that its text and its page share. Decides and computes nothing that costs.
import { formatRate } from '../../base/index.ts';
import type { LinkKind, PlanCapture, PlanCost, PlanGroup, PlanPass, PlanRead } from '../../plan/index.ts';
import { certaintyMark, type Fact } from '../../tape/index.ts';
import { countOf, formatChannels } from '../plain-words.ts';
import type { PlanDocument } from './plan-document.ts';

/** "5 passes on bench-1 and bench-2, 11.2 h of a person, 6.3 GB." */
export function firstSentence(document: PlanDocument): string {
  const { tape, passes, decks, cost } = document;
  const { operatorHours, gigabytes } = cost.parts;
  const named = decks.map((one) => `${countOf(one.passes, 'pass', 'passes')} on ${one.deck}`);
  const whole = isLoose(document) ? '; not everything can be joined' : '';
  const what = `Tape ${tape.id}: ${countOf(passes.length, 'pass', 'passes')}`;
  const shares = decks.length > 1 ? ` (${named.join(', ')})` : ` on ${decks[0].deck}`;
  return `${what}${shares}, about ${hoursText(operatorHours)} of a person's time, ${gigabytesText(gigabytes)}${whole}.`;
}

/** Parts of one programme are left that nothing joins of what the rules want joins by. */
export function isLoose({ groups, timecodeGroups, rules }: PlanDocument): boolean {
  const programmes = new Set(groups.map(({ programme }) => programme)).size;
  return rules.join !== 'none' && (rules.join === 'timecode' ? timecodeGroups : groups).length > programmes;
}

/** Name, amount and points of everything that costs. */
export function costRows({ parts, points, total }: PlanCost): string[][] {
  const row = (name: string, amount: string, value: number) => [name, amount, value.toFixed(1)];
  return [
    row('passes', String(parts.passes), points.passes),
    row(
      'tape wear',
      `${parts.wearMinutes.toFixed(0)} min weighted (the tape runs ${parts.runMinutes.toFixed(0)})`,
      points.wear,
    ),
    row("a person's time", hoursText(parts.operatorHours), points.hours),
    row('storage', gigabytesText(parts.gigabytes), points.storage),
    ...(parts.sameDeck > 0
      ? [row('reads on one deck only', `${parts.sameDeck} (channels times decks)`, points.sameDeck)]
      : []),
    ...(parts.analogue > 0 ? [row('through converters', countOf(parts.analogue, 'cable'), points.analogue)] : []),
    row('together', '', total),
  ];
}

/** How the plan compares with the other one, and what is proven of it. */
export function comparison({ cost, runnerUp, groups, timecodeGroups, decks, proof, rules }: PlanDocument): string[] {
  const out = [proofSentence(proof)];
  if (!runnerUp) {
    const other = 'way to share the passes among these decks that the rules allow';
    return [...out, proof.isExact ? `There is no other ${other}.` : `No other ${other} was found.`];
  }
  const more = runnerUp.cost.total - cost.total;
  const shares = runnerUp.decks.map((one) => `${countOf(one.passes, 'pass', 'passes')} on ${one.deck}`).join(', ');
  const own = decks.map((one) => `${one.passes} on ${one.deck}`).join(', ');
  const name = runnerUp.isNext
    ? 'The runner-up, the best that shares the passes otherwise,'
    : 'Another plan that shares the passes otherwise';
  out.push(
    `${name} takes ${shares} (instead of ${own}) and costs ${Math.abs(more).toFixed(1)} points ${more >= 0 ? 'more' : 'less'}: ${differences(runnerUp.cost, cost)}.`,
  );
  const left = (rules.join === 'timecode' ? timecodeGroups : groups).length;
  if (rules.join !== 'none' && runnerUp.groups !== left) {
    out.push(
      `It would leave ${countOf(runnerUp.groups, 'part')} that nothing joins with each other; this plan leaves ${left}, and joining comes before cost.`,
    );
  }
  return out;
}

function proofSentence({ isExact, withinPoints }: PlanDocument['proof']): string {
  if (isExact) return 'The search was complete: no plan for this bench that joins the captures as well costs less.';
  if (withinPoints === null) return 'The bench is too large for a complete search: there may be a better plan.';
  return `The search was cut short: a better plan could save at most ${withinPoints.toFixed(1)} points.`;
}

function differences(other: PlanCost, own: PlanCost): string {
  const parts = [
    difference(other.parts.passes - own.parts.passes, 0, 'passes', 'pass'),
    difference(other.parts.wearMinutes - own.parts.wearMinutes, 0, 'min of wear'),
    difference(other.parts.operatorHours - own.parts.operatorHours, 1, 'h'),
    difference(other.parts.gigabytes - own.parts.gigabytes, 1, 'GB'),
    difference(other.parts.sameDeck - own.parts.sameDeck, 0, 'reads on one deck only'),
  ].filter((text) => text !== null);
  return parts.length > 0 ? parts.join(', ') : 'the same in everything but the deck';
}

function difference(value: number, digits: number, many: string, one = many): string | null {
  const text = Math.abs(value).toFixed(digits);
  if (Number(text) === 0) return null;
  return `${value > 0 ? '+' : '\u2212'}${text} ${Number(text) === 1 ? one : many}`;
}

const LINK_WORDS: Readonly<Record<LinkKind, string>> = {
  channel: 'share',
  start: 'start together',
  timecode: 'carry the timecode of the tape',
};

/** One sentence per joint between captures, and the plain statement where nothing connects. */
export function joinSentences(document: PlanDocument): string[] {
  const { links, groups, timecodeGroups } = document;
  const out = links.map(({ file, to, by, channels }) => {
    if (by === 'channel') return `${file} and ${to} share ${formatChannels(channels)}.`;
    return `${file} and ${to} ${LINK_WORDS[by]}.`;
  });
  const perProgramme = new Map<number | null, PlanGroup[]>();
  for (const group of groups) perProgramme.set(group.programme, [...(perProgramme.get(group.programme) ?? []), group]);
  for (const [programme, own] of perProgramme) {
    if (own.length < 2) continue;
    const of = programme === null ? '' : ` of programme ${programme}`;
    const parts = own.map(({ channels, files }) => `${formatChannels(channels)} (${files.join(', ')})`);
    out.push(`NOTHING CONNECTS these parts${of} to the sample: ${parts.join('; ')}. Each becomes a master of its own.`);
    out.push(JOIN_HELP);
  }
  if (timecodeGroups.length < groups.length) {
    out.push(
      `By the tape's timecode ${countOf(timecodeGroups.length, 'part')} would be left instead of ${groups.length}. ${TIMECODE_LIMIT}`,
    );
  }
  if (perProgramme.size > 1) out.push('Programmes are not joined with each other: each is a recording of its own.');
  return out;
}

const JOIN_HELP =
  'What would join them: an output that can be switched to a channel of another part, recorders that start together (starts), or one recorder with more inputs.';

const TIMECODE_LIMIT =
  '`tapeproof run` uses it where it is recorded as sound on a channel of the file (on the sheet: timecode: N, and 0 for it in channels), to a stated number of frames and never exactly; kept in another way, work the start out from it and write it on the sheet as offset.';

export function readRows({ reads, wanted }: PlanDocument): string[][] {
  return reads.map((read) => [
    `${read.channel}`,
    read.passes.join(', '),
    read.decks.join(', '),
    independence(read, wanted.reads),
  ]);
}

/** Reads of different passes are independent; of different decks more so. */
function independence({ passes, decks }: PlanRead, wanted: number): string {
  if (passes.length < 2) return 'one read: nothing proves it';
  const extra = passes.length > wanted ? `, ${passes.length - wanted} more than asked` : '';
  if (decks.length < 2) return `independent passes, one deck: a fault of it may repeat${extra}`;
  return `independent, ${decks.length} decks${extra}`;
}

export function storageText({ size }: PlanCapture): string {
  const marks = [
    ...(size.minutesTo2GiB === null ? [] : [`2 GiB at ${clockText(size.minutesTo2GiB)}`]),
    ...(size.minutesTo4GiB === null ? [] : [`4 GiB at ${clockText(size.minutesTo4GiB)}`]),
  ];
  const splits = size.splitMinutes.map(clockText);
  const parts =
    splits.length === 0 ? '' : `; next file at ${splits.slice(0, 12).join(', ')}${splits.length > 12 ? ' ...' : ''}`;
  return `${gigabytesText(size.bytes / 1e9)}${marks.length ? `; ${marks.join(', ')}` : ''}${parts}`;
}

/** Minutes as h:mm:ss, cut to whole seconds: a split point is never promised too late. */
export function clockText(minutes: number): string {
  const seconds = Math.floor(minutes * 60);
  const pad = (value: number) => String(value).padStart(2, '0');
  return `${Math.floor(seconds / 3600)}:${pad(Math.floor(seconds / 60) % 60)}:${pad(seconds % 60)}`;
}

export function hoursText(hours: number): string {
  return `${hours.toFixed(1)} h`;
}

export function gigabytesText(gigabytes: number): string {
  return `${gigabytes.toFixed(2)} GB`;
}

/** "as in 48000 Hz, 16 bit" of what comes out of the deck. */
export function signalText({ rate, bits }: PlanDocument): string {
  return `${formatRate(rate)}, ${bits} bit`;
}

/** The text with its mark: what is from memory must be seen to be. */
export function markedText(fact: Fact<string>): string {
  return `${fact.value} [${certaintyMark(fact)}]`;
}

export const MARKS =
  'Marks in brackets: S a standard or a text that quotes one, T trade literature, M from memory (a default, never proof), D arithmetic on such facts (the weakest in brackets).';

export function passTitle({ pass, programme, deck }: PlanPass): string {
  return `Pass ${pass}${programme === null ? '' : `, programme ${programme}`}, on ${deck}`;
}

/** 0 is a file channel that nothing wanted is on. */
export function channelText(channels: readonly number[]): string {
  return channels.map((channel) => (channel === 0 ? '-' : channel)).join(' ');
}

export function capital(text: string): string {
  return text.charAt(0).toUpperCase() + text.slice(1);
}

/** Headed lists of sentences that the text and the page both print; empty ones are left out. */
export function planLists(document: PlanDocument): { readonly title: string; readonly lines: readonly string[] }[] {
  const { ruledOut, idle, assumptions, trusted, remarks, misplays } = document;
  const lists = [
    { title: 'What joins the captures', lines: joinSentences(document) },
    { title: 'Compared with others', lines: comparison(document) },
    {
      title: 'Ruled out',
      lines: ruledOut.map(({ about, name, why, help }) => `${about} ${name}: ${why}. What would help: ${help}.`),
    },
    { title: 'Not needed', lines: idle.length > 0 ? [idle.join(', ')] : [] },
    { title: 'Taken on trust', lines: [...assumptions, ...trusted] },
    { title: 'Mind', lines: remarks },
    {
      title: 'On the wrong deck, speed or system',
      lines: misplays.map(({ when, effect }) => `${capital(when)}: ${markedText(effect)}`),
    },
  ];
  return lists.filter(({ lines }) => lines.length > 0);
}

/** What the tape is and how long it runs, on one line. */
export function tapeLine(document: PlanDocument): string {
  const { tape, minutes } = document;
  const parts = [tape.formatLabel ?? 'format not given', tape.system, signalText(document), `${minutes} min a run`];
  return parts.filter((part) => part !== null).join(' · ');
}
