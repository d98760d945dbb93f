// What the test programme consists of and where each part lies, in seconds: the same times and waves at every rate it is written at.
// Not for samples (write-programme.ts) and not for judging what came back (analyse/).
import { type Rate, rateHz, TapeproofError } from '../../base/index.ts';
import { PILOT_SECONDS, pilotCodes } from './pilot.ts';

/** Raised when a section moves or changes: a capture of another version is not understood. */
export const PROGRAMME_VERSION = 1;

export interface Tone {
  readonly hz: number;
  /** peak, dB below full scale */
  readonly levelDb: number;
  /** at the start of the section, radians */
  readonly phase: number;
}

export type Sound =
  | { readonly kind: 'silence' }
  | { readonly kind: 'pilot'; readonly codeSeconds: number }
  | { readonly kind: 'tones'; readonly tones: readonly Tone[] }
  /** level falls linearly in dB */
  | { readonly kind: 'fade'; readonly hz: number; readonly fromDb: number; readonly toDb: number }
  /** logarithmic; silent from `topHz` on, where the programme's rate cannot carry it */
  | {
      readonly kind: 'sweep';
      readonly fromHz: number;
      readonly toHz: number;
      readonly topHz: number;
      readonly levelDb: number;
    }
  | { readonly kind: 'impulses'; readonly levelDb: number; readonly everySeconds: number; readonly count: number };

export type SectionGroup =
  | 'silence'
  | 'pilot'
  | 'idle'
  | 'ladder'
  | 'low-level'
  | 'tones'
  | 'sweep'
  | 'two-tone'
  | 'multitone'
  | 'separation'
  | 'impulses';

export interface Section {
  readonly id: string;
  readonly group: SectionGroup;
  /** seconds from the start of the programme; hundredths, so that every rate offered has a frame there */
  readonly start: number;
  readonly length: number;
  /** 0: both channels alike; else only this one */
  readonly channel: 0 | 1 | 2;
  readonly sound: Sound;
}

export interface ProgrammePlan {
  readonly version: number;
  readonly rate: Rate;
  readonly bits: number;
  readonly sections: readonly Section[];
  readonly seconds: number;
}

/** Rates and word lengths a programme can be written at; their order is the code in the pilots. */
export const PROGRAMME_RATES: readonly number[] = [32_000, 44_100, 48_000, 88_200, 96_000];
export const PROGRAMME_BITS: readonly number[] = [16, 20, 24];

/** AES17 asks for 997 Hz: prime to every rate, so that a quantiser meets ever new phases. */
export const LADDER_HZ = 997;
export const LADDER_LEVELS_DB: readonly number[] = Object.freeze([...range(-100, -65, 5), ...range(-60, -2, 2), -1, 0]);
export const FADE_HZ = 397;
/** dB below full scale; quiet enough for every loudspeaker, loud enough for 60 dB of distortion below it in 16 bits */
export const TONES_DB = -20;
/** Thirds and halves of octaves, moved to whole hertz that share no factor with usual rates. */
export const TONE_HZ: readonly number[] = [
  23, 41, 61, 101, 251, 499, 997, 1999, 3989, 6301, 7993, 10_007, 11_003, 12_503, 13_999, 15_013, 16_007, 18_013,
  19_997,
];
export const SEPARATION_HZ: readonly number[] = [101, 997, 4999, 10_007, 13_999];
export const SEPARATION_DB = -10;
/** Two tones 4:1 (after SMPTE RP 120, certainty M) and two alike 1 kHz apart (after IEC 60268-3, certainty M), below 15 kHz for every format. */
export const TWIN_LOW = { lowHz: 61, highHz: 7993 };
export const TWIN_HIGH = { lowHz: 13_001, highHz: 13_999 };
export const MULTITONE_HZ: readonly number[] = Object.freeze(multitone());
export const SWEEP = { fromHz: 15, toHz: 23_500, seconds: 10, levelDb: -20 };
export const IMPULSES = { levelDb: -6, everySeconds: 0.2, count: 9 };
const STEP_SECONDS = 1;

/** Throws `input` for a rate or word length that is not offered. */
export function programmePlan(rate: Rate, bits: number): ProgrammePlan {
  const codes = codesOf(rate, bits);
  const top = 0.46 * rateHz(rate);
  const parts: Omit<Section, 'start'>[] = [
    ...[silence('lead-in', 1)],
    pilot('pilot start', codes.start),
    { id: 'idle', group: 'idle', length: 5, channel: 0, sound: { kind: 'silence' } },
    ...LADDER_LEVELS_DB.map((levelDb) =>
      tones(`ladder ${levelDb} dBFS`, 'ladder', STEP_SECONDS, [tone(LADDER_HZ, levelDb)]),
    ),
    silence('rest after the ladder', 0.3),
    part('low-level fade', 'low-level', 12, { kind: 'fade', hz: FADE_HZ, fromDb: -60, toDb: -120 }),
    pilot('pilot middle', codes.middle),
    ...TONE_HZ.filter((hz) => hz < top).map((hz) => tones(`tone ${hz} Hz`, 'tones', 0.6, [tone(hz, TONES_DB)])),
    silence('rest before the sweep', 0.5),
    part('sweep', 'sweep', SWEEP.seconds, { kind: 'sweep', ...SWEEP, topHz: Math.min(SWEEP.toHz, top) }),
    silence('rest after the sweep', 0.5),
    tones('two tones 61 + 7993 Hz, 4:1', 'two-tone', 1.5, [
      tone(TWIN_LOW.lowHz, 20 * Math.log10(0.4)),
      tone(TWIN_LOW.highHz, 20 * Math.log10(0.1)),
    ]),
    tones('two tones 13001 + 13999 Hz', 'two-tone', 1.5, [
      tone(TWIN_HIGH.lowHz, 20 * Math.log10(0.25)),
      tone(TWIN_HIGH.highHz, 20 * Math.log10(0.25)),
    ]),
    tones('multitone', 'multitone', 3, multitoneTones(top)),
    ...([1, 2] as const).flatMap((channel) =>
      SEPARATION_HZ.map((hz) => ({
        ...tones(`channel ${channel} alone, ${hz} Hz`, 'separation', 0.6, [tone(hz, SEPARATION_DB)]),
        channel,
      })),
    ),
    silence('rest before the impulses', 0.2),
    part('impulses', 'impulses', IMPULSES.everySeconds * (IMPULSES.count + 1), { kind: 'impulses', ...IMPULSES }),
    pilot('pilot end', codes.end),
    silence('tail', 1),
  ];
  let at = 0;
  const sections = parts.map((one) => {
    const start = at;
    at = Math.round((at + one.length) * 100) / 100;
    return { ...one, start };
  });
  return { version: PROGRAMME_VERSION, rate, bits, sections, seconds: at };
}

function codesOf(rate: Rate, bits: number) {
  const rateCode = PROGRAMME_RATES.indexOf(rateHz(rate));
  const bitsCode = PROGRAMME_BITS.indexOf(bits);
  if (rateCode < 0 || bitsCode < 0) {
    throw new TapeproofError('input', 'the test programme is not written like that', {
      expected: `a rate of ${PROGRAMME_RATES.join(', ')} Hz and ${PROGRAMME_BITS.join(', ')} bits`,
      found: `${rateHz(rate)} Hz, ${bits} bits`,
    });
  }
  return pilotCodes(rateCode, bitsCode);
}

function tone(hz: number, levelDb: number, phase = 0): Tone {
  return { hz, levelDb, phase };
}

function part(id: string, group: SectionGroup, length: number, sound: Sound): Omit<Section, 'start'> {
  return { id, group, length, channel: 0, sound };
}

function tones(id: string, group: SectionGroup, length: number, list: readonly Tone[]) {
  return part(id, group, length, { kind: 'tones', tones: list });
}

function silence(id: string, length: number) {
  return part(id, 'silence', length, { kind: 'silence' });
}

function pilot(id: string, codeSeconds: number) {
  return part(id, 'pilot', PILOT_SECONDS, { kind: 'pilot', codeSeconds });
}

function range(from: number, to: number, step: number): number[] {
  return Array.from({ length: Math.round((to - from) / step) + 1 }, (_, k) => from + k * step);
}

/** Thirty tones from 30 Hz to 20 kHz, odd whole hertz. */
function multitone(): number[] {
  return Array.from({ length: 30 }, (_, k) => 2 * Math.round((30 * (20_000 / 30) ** (k / 29)) / 2) + 1);
}

/** Phases after M. Schroeder (IEEE Trans. Inf. Theory 16, 1970; certainty M): low crest, so that more level fits under the peak. */
function multitoneTones(topHz: number): Tone[] {
  const list = MULTITONE_HZ.filter((hz) => hz < topHz);
  return list.map((hz, k) => tone(hz, -34, (-Math.PI * k * k) / list.length));
}
