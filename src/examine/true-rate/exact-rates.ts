// The rates that a tape or a studio clock can really have, as exact ratios (docs/sources.md, formats.md 1 and 6.1). Not the rates that headers state.
import { type Rate, rate } from '../../base/index.ts';

export interface ExactRate {
  readonly rate: Rate;
  readonly why: string;
}

export const EXACT_RATES: readonly ExactRate[] = [
  { rate: rate(31_250), why: 'twice the line frequency of 625 lines' },
  { rate: rate(4_500_000, 143), why: 'twice the line frequency of 525 lines' },
  { rate: rate(32_000), why: 'a crystal' },
  { rate: rate(6_300_000, 143), why: 'three samples on 245 lines of 525-line colour fields (44100 / 1.001)' },
  { rate: rate(44_100), why: 'a crystal, or three samples on 294 lines of 625-line fields' },
  { rate: rate(441_441, 10), why: '44100 pulled up by 1.001' },
  { rate: rate(48_000_000, 1001), why: '48000 pulled down by 1.001' },
  { rate: rate(48_000), why: 'a crystal' },
  { rate: rate(48_048), why: '48000 pulled up by 1.001' },
  { rate: rate(88_200), why: 'a crystal' },
  { rate: rate(96_000), why: 'a crystal' },
];
