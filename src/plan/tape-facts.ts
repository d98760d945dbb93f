// What the plan must know of the tape: from the sheet, else from the format's facts, with every assumption said. Not for equipment.
import { formatRate, type Rate, rateHz } from '../base/index.ts';
import { certaintyMark, type PlayingTime, type TvSystem } from '../tape/index.ts';
import type { PlanRequest } from './bench.ts';
import { type Reason, reason } from './reason.ts';

export interface TapeFacts {
  readonly rate: Rate;
  readonly system: TvSystem | null;
  /** word length a recorder must hold, after expansion of a companded word */
  readonly bits: number;
  readonly minutes: number;
  /** of one programme, ascending */
  readonly channels: readonly number[];
  readonly programmes: readonly number[];
  /** channels the format has per programme: numbers tape channels across programmes */
  readonly channelsPerProgramme: number;
  /** sentences: what was not on the sheet and what was taken instead */
  readonly assumptions: readonly string[];
}

/** More would not fit the masks of the search; no format comes near. */
export const MOST_CHANNELS = 24;

/** Tape channel as numbered on the sheet: programmes follow each other (programme 2 of a stereo format is channels 3 and 4). */
export function sheetChannel(facts: TapeFacts, programme: number, channel: number): number {
  return (programme - 1) * facts.channelsPerProgramme + channel;
}

export function tapeFacts({ tape, wanted }: PlanRequest): TapeFacts | { readonly reasons: readonly Reason[] } {
  const said: string[] = [];
  const reasons: Reason[] = [];
  const signal = tape.format?.signal;
  const rate = tape.rate ?? signal?.rates.value[0];
  if (!tape.rate && signal && signal.rates.value.length > 1) {
    said.push(`The sheet gives no rate: ${formatRate(signal.rates.value[0])} is assumed, the format's usual one.`);
  }
  if (!rate) reasons.push(missing('unknown-rate', 'the sampling rate is not known', 'tape.rate, or tape.format'));
  const bits = wordBits({ tape, said });
  const minutes = wanted.minutes ?? lengthOf(tape.format?.playingTimes ?? [], wanted.speed, said);
  if (minutes === null) {
    reasons.push(missing('unknown-length', 'how long one run of the tape takes is not known', 'wanted.minutes'));
  }
  const has = signal ? signal.channels.value : Math.max(0, ...(wanted.channels ?? []));
  const channels = wanted.channels ?? upTo(has);
  const programmes = wanted.programmes ?? upTo(signal?.programmes.value ?? 1);
  reasons.push(...channelReasons(channels, programmes, has, signal?.programmes.value ?? Math.max(...programmes)));
  if (reasons.length > 0 || !rate || minutes === null) return { reasons };
  const sorted = (list: readonly number[]) => [...new Set(list)].sort((a, b) => a - b);
  return {
    ...{
      rate,
      system: tape.format?.system ?? tape.system,
      bits,
      minutes,
      channelsPerProgramme: has,
      assumptions: said,
    },
    ...{ channels: sorted(channels), programmes: sorted(programmes) },
  };
}

function wordBits({ tape, said }: { readonly tape: PlanRequest['tape']; readonly said: string[] }): number {
  const linear = tape.format?.signal.linearBits;
  if (linear) {
    if (linear.value < 16)
      said.push(`Decks put the ${linear.value}-bit words out in 16 or more: nothing below 16 bits is used.`);
    return Math.max(16, linear.value);
  }
  if (tape.word === null) said.push('The sheet gives no word length: 16 bits are assumed.');
  return tape.word ?? 16;
}

type PlayingTimes = readonly {
  readonly value: PlayingTime;
  readonly source: string;
  readonly certainty: 'S' | 'T' | 'M' | 'D';
}[];

/** The format's playing time where only one is left at this speed. */
function lengthOf(times: PlayingTimes, speed: string | null, said: string[]): number | null {
  const fitting = times.filter(({ value }) => speed === null || value.mode.toLowerCase() === speed.toLowerCase());
  if (fitting.length !== 1) return null;
  const [only] = fitting;
  const { cassette, minutes } = only.value;
  said.push(`The sheet gives no length: ${minutes} min are assumed (${cassette}; certainty ${certaintyMark(only)}).`);
  return minutes;
}

function channelReasons(
  channels: readonly number[],
  programmes: readonly number[],
  has: number,
  hasProgrammes: number,
): Reason[] {
  if (channels.length === 0) {
    return [
      missing('unknown-channels', 'how many channels the tape has is not known', 'wanted.channels, or tape.format'),
    ];
  }
  const out: Reason[] = [];
  const odd = channels.filter((channel) => channel > has);
  if (odd.length > 0) {
    const why = `channel ${odd.join(', ')} is wanted, and a programme of this format has ${has}`;
    out.push(reason('tape', '', 'no-such-channel', why, 'correct wanted.channels, or the format'));
  }
  const beyond = programmes.filter((programme) => programme > hasProgrammes);
  if (beyond.length > 0) {
    const why = `programme ${beyond.join(', ')} is wanted, and this format has ${hasProgrammes}`;
    out.push(reason('tape', '', 'no-such-channel', why, 'correct wanted.programmes, or the format'));
  }
  if (channels.length > MOST_CHANNELS) {
    const why = `${channels.length} channels of one programme are more than can be planned at once`;
    out.push(reason('tape', '', 'too-many-channels', why, `plan at most ${MOST_CHANNELS} at a time`));
  }
  return out;
}

function missing(code: Reason['code'], why: string, key: string): Reason {
  return reason('tape', '', code, why, `give ${key} on the sheet`);
}

function upTo(count: number): number[] {
  return Array.from({ length: count }, (_, i) => i + 1);
}

/** Whether the interface has a code for this rate; there is none for 31.25, 31.47 and 44.056 kHz (formats sheet 10, R42). */
export function isCodedRate(rate: Rate): boolean {
  return [32_000, 44_100, 48_000, 88_200, 96_000].includes(rateHz(rate));
}
