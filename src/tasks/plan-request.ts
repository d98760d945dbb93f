// From the sheet's sections to what plan/ works on: every default filled, and a sentence for everything that the sheet leaves out and the plan
// therefore takes on trust. Decides nothing.
import {
  DEFAULT_HANDLING_MINUTES,
  DEFAULT_WEIGHTS,
  type Deck,
  type DeckOutput,
  isClockedKind,
  type PlanRequest,
  type Recorder,
} from '../plan/index.ts';
import { findFormat, parseSystem, type TapeFormat } from '../tape/index.ts';
import type { BenchSheet, SheetTape } from './sheet.ts';
import { DEFAULT_READS, HIGHEST_PROGRAMME } from './sheet-bench-sense.ts';
import type { DeckDraft, RecorderDraft, RulesDraft } from './sheet-schema.ts';
import { bytesOf, numbersOf, rateRangeOf } from './sheet-values.ts';
import { HIGHEST_CHANNEL } from './sheet-words.ts';

const DEFAULT_BITS = [16, 24];
/** channels of a cable of two-channel interfaces, of everything else unless said */
const PAIR = 2;

export function planRequest({ tape, wanted, bench, rules }: BenchSheet): PlanRequest {
  const format = formatOf(tape);
  const programmes = numbersOf(wanted.programmes, HIGHEST_PROGRAMME) ?? null;
  const channels = numbersOf(wanted.channels, HIGHEST_CHANNEL) ?? null;
  const all = format?.signal.channels.value ?? Math.max(PAIR, ...(channels ?? []));
  return {
    tape: { id: tape.id, format, system: parsedSystem(tape), rate: tape.rate, word: tape.word },
    wanted: {
      ...{ programmes, channels, reads: wanted.reads ?? DEFAULT_READS, minutes: wanted.minutes ?? null },
      ...{ speed: wanted.speed ?? null, condition: wanted.condition ?? 'good', signs: wanted.signs ?? [] },
    },
    decks: bench.decks.map((deck) => deckOf(deck, all)),
    recorders: bench.recorders.map((recorder) => recorderOf(recorder, all)),
    rules: rulesOf(rules),
  };
}

/** Sentences: what the sheet does not say of the tape and of the machines in `used`, and is therefore taken on trust. */
export function trustedOf({ wanted, bench }: BenchSheet, used: ReadonlySet<string>): string[] {
  return [
    ...(wanted.reads === undefined
      ? ['The sheet says no number of reads: two are planned, one would prove nothing.']
      : []),
    ...(wanted.condition === undefined
      ? ['The sheet says nothing of the tape\u2019s condition: good is assumed.']
      : []),
    ...bench.decks.filter(({ name }) => used.has(name)).flatMap(deckTrust),
    ...bench.recorders.filter(({ name }) => used.has(name)).flatMap(recorderTrust),
  ];
}

function formatOf({ format, system }: SheetTape): TapeFormat | null {
  return format === null ? null : findFormat(format, system ?? undefined);
}

function parsedSystem({ system }: SheetTape) {
  return system === null ? null : parseSystem(system);
}

function deckOf(draft: DeckDraft, channels: number): Deck {
  return {
    name: draft.name,
    equipment: draft.equipment ?? null,
    plays: draft.plays ?? null,
    systems: draft.systems?.map((system) => parseSystem(String(system))) ?? null,
    speeds: draft.speeds ?? null,
    outputs: named(draft.outputs).map((output) => outputOf(output, channels)),
    timecode: draft.timecode ?? false,
    wordClock: draft.wordclock ?? false,
    wear: draft.wear ?? 1,
  };
}

type OutputDraft = DeckDraft['outputs'][number] & { readonly name: string };

/** The data stream always holds all channels; any other cable carries two unless the sheet says more. */
function outputOf({ name, kind, channels, choices, width }: OutputDraft, all: number): DeckOutput {
  const sets = choices ?? (channels ? [channels] : kind === 'dif' ? [upTo(all)] : null);
  const widest = Math.max(0, ...(sets ?? []).map((set) => set.length));
  return { name, kind, width: width ?? (widest || PAIR), choices: sets };
}

function recorderOf(draft: RecorderDraft, channels: number): Recorder {
  return {
    name: draft.name,
    equipment: draft.equipment ?? null,
    inputs: named(draft.inputs).map(({ name, kind, channels: own }) => ({
      name,
      kind,
      channels: own ?? (kind === 'dif' ? channels : PAIR),
    })),
    rates: draft.rates?.flatMap((rate) => rateRangeOf(rate) ?? []) ?? null,
    bits: [...(draft.bits ?? DEFAULT_BITS)].sort((a, b) => a - b),
    clock: draft.clock ?? 'input',
    resamples: draft.resamples ?? 'never',
    fileLimit: bytesOf(draft.limit) ?? null,
    splits: draft.splits ?? false,
    storage: bytesOf(draft.storage) ?? null,
    timecode: draft.timecode ?? false,
    starts: draft.starts ?? null,
  };
}

/** A socket without a name is called by its kind, and counted where there are several of the kind. */
function named<T extends { readonly name?: string | undefined; readonly kind: string }>(
  sockets: readonly T[],
): (T & { readonly name: string })[] {
  return sockets.map((socket, i) => {
    const alike = sockets.filter(({ kind }) => kind === socket.kind);
    const nth = sockets.slice(0, i + 1).filter(({ kind }) => kind === socket.kind).length;
    return { ...socket, name: socket.name ?? (alike.length > 1 ? `${socket.kind} ${nth}` : socket.kind) };
  });
}

function rulesOf(draft: RulesDraft): PlanRequest['rules'] {
  const { pass, wear, hour, gigabyte, deck } = draft.cost ?? {};
  return {
    passes: draft.passes ?? null,
    handlingMinutes: draft.handling ?? DEFAULT_HANDLING_MINUTES,
    prefer: draft.prefer ?? null,
    join: draft.join ?? 'exact',
    analogue: draft.analogue ?? false,
    cost: {
      pass: pass ?? DEFAULT_WEIGHTS.pass,
      wear: wear ?? DEFAULT_WEIGHTS.wear,
      hour: hour ?? DEFAULT_WEIGHTS.hour,
      gigabyte: gigabyte ?? DEFAULT_WEIGHTS.gigabyte,
      deck: deck ?? DEFAULT_WEIGHTS.deck,
    },
  };
}

function deckTrust({ name, plays }: DeckDraft): string[] {
  return plays ? [] : [`Deck ${name}: that it can replay this tape is taken on trust (no plays).`];
}

function recorderTrust({ name, inputs, bits, clock, resamples, rates }: RecorderDraft): string[] {
  if (!inputs.some(({ kind }) => isClockedKind(kind))) return [];
  const parts = [
    ...(clock ? [] : ['it follows the clock of its input']),
    ...(resamples ? [] : ['it does not resample']),
    ...(rates ? [] : ['it takes any rate']),
    ...(bits ? [] : ['it records 16 and 24 bits']),
  ];
  if (parts.length === 0) return [];
  return [`Recorder ${name}: taken on trust that ${parts.join(', ')}. The sheet does not say it; prove the chain.`];
}

function upTo(count: number): number[] {
  return Array.from({ length: count }, (_, i) => i + 1);
}
