// What the interface said beside what the samples say: the flags by stretch, where the two contradict each other, and the deck's habit
// with the validity bit. A flag is a claim, never proof. Decoding: tape/status. Reads no samples.
import { type Rate, rateHz, type Span } from '../../base/index.ts';
import {
  type StatusBlock,
  type StatusLog,
  type StatusStretch,
  type StatusTopic,
  statusTopic,
} from '../../tape/index.ts';
import type { Finding, Verdict } from '../finding.ts';
import { type ValidityHabit, validityHabit } from './validity-habit.ts';

export interface FlagStretch extends Span {
  /** 1-based file channel; 0 = all of them */
  readonly channel: number;
  readonly block: StatusBlock;
}

export interface FlagContradiction extends Span {
  readonly channel: number;
  readonly about: 'rate' | 'word' | 'emphasis' | 'non-audio' | 'check' | 'channels';
  readonly flag: string;
  readonly measured: string;
  /** how sure the measurement is */
  readonly confidence: number;
  readonly text: string;
}

export interface InterfaceReading {
  /** "typed", or the path of the log */
  readonly source: string;
  readonly stretches: readonly FlagStretch[];
  readonly contradictions: readonly FlagContradiction[];
  /** true, but no contradiction */
  readonly remarks: readonly string[];
  readonly validity: readonly ValidityHabit[];
}

export interface MeasuredSide {
  readonly rate: Rate;
  readonly channels: number;
  readonly verdicts: readonly Verdict[];
  readonly findings: readonly Finding[];
}

/** Less sure than this, a measurement does not stand against a flag. */
const SURE = 0.95;

export function judgeInterface(log: StatusLog, source: string, side: MeasuredSide): InterfaceReading {
  const contradictions: FlagContradiction[] = [];
  const remarks = new Set<string>();
  for (const stretch of log.stretches) {
    const said = new Stretch(stretch, side, contradictions, remarks);
    if (stretch.block.check && !stretch.block.check.isRight) {
      const { found, expected } = stretch.block.check;
      said.against(
        'check',
        hexByte(found),
        hexByte(expected),
        1,
        'the check byte is wrong: nothing of this block is believed',
      );
      continue;
    }
    checkRate(said, side.rate);
    checkWord(said);
    checkEmphasis(said);
    checkData(said);
  }
  contradictions.push(...unequalChannels(log.stretches));
  for (const text of rateChanges(log.stretches)) remarks.add(text);
  return {
    source,
    stretches: log.stretches,
    contradictions: contradictions.sort((a, b) => a.start - b.start || a.channel - b.channel),
    remarks: [...remarks],
    validity: log.validity.flatMap((one) => validityHabit(one, side)),
  };
}

/** One stretch of flags with the measurements that may stand against it. */
class Stretch {
  readonly stretch: StatusStretch;
  readonly #side: MeasuredSide;
  readonly #found: FlagContradiction[];
  readonly #remarks: Set<string>;

  constructor(stretch: StatusStretch, side: MeasuredSide, found: FlagContradiction[], remarks: Set<string>) {
    this.stretch = stretch;
    this.#side = side;
    this.#found = found;
    this.#remarks = remarks;
  }

  topic(topic: StatusTopic) {
    return statusTopic(this.stretch.block, topic);
  }

  /** Sure answers to a question on the channels of this stretch. */
  answers(question: string): Verdict[] {
    const { channel } = this.stretch;
    return this.#side.verdicts.filter(
      (one) => one.question === question && one.confidence >= SURE && (channel === 0 || one.channel === channel),
    );
  }

  against(about: FlagContradiction['about'], flag: string, measured: string, confidence: number, text: string): void {
    const { start, length, channel } = this.stretch;
    this.#found.push({ start, length, channel, about, flag, measured, confidence, text });
  }

  remark(text: string): void {
    this.#remarks.add(text);
  }
}

/** Rates that no code names; decks send the nearest code (formats.md 10, T). */
const CODELESS_HZ = [31_250, 4_500_000 / 143, 6_300_000 / 143];
const SAME_RATE = 2e-4;

function checkRate(said: Stretch, header: Rate): void {
  const flag = said.topic('rate');
  const scaled = said.stretch.block.values.find(({ key }) => key === 'rate-scaling')?.code === 1;
  const flagged = flag?.code?.number === undefined ? undefined : flag.code.number / (scaled ? 1.001 : 1);
  if (flag === undefined || flagged === undefined) return;
  const hz = rateHz(header);
  if (Math.abs(flagged / hz - 1) < SAME_RATE) return;
  const flagText = `${Number(flagged.toFixed(3))} Hz`;
  const headerText = `${Number(hz.toFixed(3))} Hz`;
  if (CODELESS_HZ.some((one) => Math.abs(one / hz - 1) < SAME_RATE) && Math.abs(flagged / hz - 1) < 0.03) {
    said.remark(`the flag says ${flagText}; no code exists for ${headerText}, and decks send the nearest`);
    return;
  }
  // Where only the defaults were sent, the flag is weak.
  const isDefault = said.stretch.block.use === 'consumer' && flag.value.code === 0;
  const weak = isDefault ? ' (which is also what a device sends that fills nothing in)' : '';
  said.against(
    'rate',
    flagText,
    headerText,
    isDefault ? 0.5 : 1,
    `the flag says ${flagText}${weak}, the file ${headerText}`,
  );
}

function checkWord(said: Stretch): void {
  const flagged = flaggedBits(said.stretch.block);
  if (flagged === undefined) return;
  for (const { channel, answer, confidence } of said.answers('word-length')) {
    if (typeof answer !== 'number' || answer === flagged) continue;
    if (answer < flagged) {
      said.remark(`channel ${channel}: the flag allows ${flagged} bits, the samples use ${answer}`);
    } else {
      const text = `channel ${channel}: the flag says ${flagged} bits, the samples use ${answer}`;
      said.against('word', `${flagged} bits`, `${answer} bits`, confidence, text);
    }
  }
}

/** Undefined where the block does not say. */
function flaggedBits(block: StatusBlock): number | undefined {
  const code = (key: string) => block.values.find((value) => value.key === key)?.code;
  const below = statusTopic(block, 'word')?.code?.number;
  if (below === undefined) return undefined;
  const is24 = block.use === 'professional' ? code('auxiliary-bits') === 4 : code('longest-word') === 1;
  return (is24 ? 24 : 20) + below;
}

/** `emphasis` verdicts: "removed" or "removed twice" (examine/emphasis). */
function checkEmphasis(said: Stretch): void {
  const flag = said.topic('emphasis')?.value.words;
  if (flag !== '50/15 us' && flag !== 'none') return;
  for (const { channel, answer, confidence } of said.answers('emphasis')) {
    if (typeof answer !== 'string' || answer === 'cannot tell') continue;
    const isFlagged = flag === '50/15 us';
    if (isFlagged === (answer === 'on')) continue;
    const measured = answer.startsWith('removed') ? `emphasis has been ${answer} already` : `emphasis ${answer}`;
    const risk = isFlagged && answer.startsWith('removed') ? '; whoever obeys the flag takes it off twice' : '';
    said.against(
      'emphasis',
      flag,
      answer,
      confidence,
      `channel ${channel}: the flag says ${flag}, the spectrum: ${measured}${risk}`,
    );
  }
}

function checkData(said: Stretch): void {
  const flag = said.topic('non-audio')?.value;
  if (!flag) return;
  for (const { channel, answer, confidence } of said.answers('is-audio')) {
    if (typeof answer !== 'boolean' || answer === (flag.code === 0)) continue;
    const measured = answer ? 'sound' : 'data';
    const text = `channel ${channel}: the flag says ${flag.words}, the samples look like ${measured}`;
    said.against('non-audio', flag.words, measured, confidence, text);
  }
}

/** Both channels of one interface carry the same rate and emphasis. */
function unequalChannels(stretches: readonly StatusStretch[]): FlagContradiction[] {
  const out: FlagContradiction[] = [];
  for (const one of stretches) {
    if (one.channel === 0 || one.channel % 2 === 0) continue;
    for (const other of stretches) {
      const start = Math.max(one.start, other.start);
      const length = Math.min(one.start + one.length, other.start + other.length) - start;
      if (other.channel !== one.channel + 1 || length <= 0) continue;
      for (const topic of ['rate', 'emphasis'] as const) {
        const [a, b] = [one, other].map(({ block }) => statusTopic(block, topic)?.value.words);
        if (a === undefined || b === undefined || a === b) continue;
        const text = `channels ${one.channel} and ${other.channel} of one interface differ in ${topic}: ${a} and ${b}`;
        out.push({
          start,
          length,
          channel: other.channel,
          about: 'channels',
          flag: a,
          measured: b,
          confidence: 1,
          text,
        });
      }
    }
  }
  return out;
}

function rateChanges(stretches: readonly StatusStretch[]): string[] {
  const out: string[] = [];
  for (const channel of new Set(stretches.map((one) => one.channel))) {
    const own = stretches.filter((one) => one.channel === channel && one.block.check?.isRight !== false);
    for (let i = 1; i < own.length; i++) {
      const [before, after] = [own[i - 1], own[i]].map(({ block }) => statusTopic(block, 'rate')?.value.words);
      if (before !== after) out.push(`the flagged rate changes at frame ${own[i].start}: ${before} to ${after}`);
    }
  }
  return [...new Set(out)];
}

function hexByte(byte: number): string {
  return `0x${byte.toString(16).padStart(2, '0')}`;
}
