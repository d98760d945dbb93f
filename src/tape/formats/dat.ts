// DAT (IEC 61119) in its modes. Data only.
import { rate } from '../../base/index.ts';
import { derived, type Fact, frozen, memory, standard, trade } from '../fact.ts';
import { fixedLength, type PrintedFact, type TapeFormat } from '../format.ts';
import type { LossPattern } from '../loss-pattern.ts';

interface Mode {
  readonly id: string;
  readonly label: string;
  readonly rateHz: number;
  readonly channels: 2 | 4;
  readonly tapeBits: Fact<number>;
  readonly linearBits: number;
  readonly rpm: Fact<number>;
  readonly mmPerSecond: Fact<number>;
  readonly perFrame: number;
  readonly frameMs: number;
  readonly minutes: number;
  readonly cautions: readonly Fact<string>[];
}

const BITS_16 = trade(16, 'R22', { unit: 'bit' });
const BITS_12 = trade(12, 'R22', { unit: 'bit' });
const RPM = derived(2000, 'T', 'R22', { unit: 'rpm' });
const SPEED = trade(8.15, 'R22', { unit: 'mm/s' });
const STANDARD = {
  channels: 2,
  tapeBits: BITS_16,
  linearBits: 16,
  rpm: RPM,
  mmPerSecond: SPEED,
  frameMs: 30,
  minutes: 120,
  cautions: [],
} as const;
const UNSUPPORTED = memory('A deck without this mode mutes or runs at a wrong speed.');

const MODES: readonly Mode[] = [
  { ...STANDARD, id: 'dat-48k', label: 'DAT, 48 kHz, 16 bit', rateHz: 48000, perFrame: 1440 },
  {
    ...STANDARD,
    id: 'dat-44k1',
    label: 'DAT, 44.1 kHz, 16 bit',
    rateHz: 44100,
    perFrame: 1323,
    cautions: [
      derived('A capture wrongly labelled 48 kHz is 146.7 cent sharp; on lock a deck does not confuse the two.', 'T'),
    ],
  },
  { ...STANDARD, id: 'dat-32k', label: 'DAT, 32 kHz, 16 bit', rateHz: 32000, perFrame: 960 },
  {
    ...STANDARD,
    id: 'dat-lp-32k',
    label: 'DAT long play, 32 kHz, 12 bit nonlinear',
    rateHz: 32000,
    tapeBits: BITS_12,
    rpm: memory(1000, { unit: 'rpm' }),
    mmPerSecond: trade(4.075, 'R22', { unit: 'mm/s' }),
    perFrame: 1920,
    frameMs: 60,
    minutes: 240,
    cautions: [UNSUPPORTED],
  },
  {
    ...STANDARD,
    id: 'dat-4ch-32k',
    label: 'DAT, 32 kHz, 12 bit nonlinear, four channels',
    rateHz: 32000,
    channels: 4,
    tapeBits: BITS_12,
    perFrame: 960,
    cautions: [UNSUPPORTED],
  },
  {
    ...STANDARD,
    id: 'dat-wide-44k1',
    label: 'DAT, pre-recorded wide track, 44.1 kHz, 16 bit',
    rateHz: 44100,
    mmPerSecond: memory(12.225, { unit: 'mm/s' }),
    perFrame: 1323,
    minutes: 80,
    cautions: [UNSUPPORTED],
  },
  ...[96000, 88200].map((rateHz) => ({
    ...STANDARD,
    id: rateHz === 96000 ? 'dat-double-96k' : 'dat-double-88k2',
    label: `DAT at double speed, ${rateHz / 1000} kHz, outside the standard`,
    rateHz,
    tapeBits: trade(16, 'R22', { unit: 'bit', note: 'or 24' }),
    rpm: memory(4000, { unit: 'rpm' }),
    mmPerSecond: trade(16.3, 'R22', { unit: 'mm/s' }),
    perFrame: rateHz === 96000 ? 1440 : 1323,
    frameMs: 15,
    minutes: 60,
    cautions: [memory('A normal deck does not lock to a double-speed tape.')],
  })),
];

function format(mode: Mode): TapeFormat {
  const companded = mode.tapeBits.value === 12;
  return {
    id: mode.id,
    family: 'dat',
    label: mode.label,
    standard: 'IEC 61119',
    signal: {
      rates: trade([rate(mode.rateHz)], 'R22'),
      clock: trade('crystal', 'R22'),
      tapeBits: mode.tapeBits,
      linearBits: trade(mode.linearBits, 'R22', { unit: 'bit' }),
      law: companded ? standard('nonlinear-12', 'R21') : trade('linear', 'R22'),
      rivalLaws: companded ? ['nonlinear-12-mid-step'] : [],
      channels: trade(mode.channels, 'R22'),
      programmes: trade(1, 'R22'),
      emphasis: trade('flag-50-15', 'R23', {
        note: 'flag per frame in the main identification; not recommended professionally',
      }),
      channelSkew: memory(0, { note: 'no skew known' }),
    },
    units: [
      {
        name: 'frame',
        length: trade(fixedLength(mode.perFrame), 'R23', {
          unit: 'samples',
          note: `${mode.frameMs} ms, two tracks, one per head`,
        }),
      },
    ],
    drum: {
      heads: trade(2, 'R22 R24'),
      headUse: trade('heads alternate, one track each; two tracks are a frame', 'R23'),
      revolutionsPerMinute: mode.rpm,
      diameterMm: trade(30, 'R22 R24', { unit: 'mm' }),
    },
    tapeSpeeds: [
      {
        ...mode.mmPerSecond,
        value: { mode: mode.id === 'dat-lp-32k' ? 'LP' : 'SP', mmPerSecond: mode.mmPerSecond.value },
      },
    ],
    playingTimes: [
      trade({ cassette: '120 min tape', mode: mode.id === 'dat-lp-32k' ? 'LP' : 'SP', minutes: mode.minutes }, 'R22', {
        unit: 'min',
      }),
    ],
    concealment: [
      trade('mean-of-neighbours', 'R28 R35 R36', { note: 'odd and even samples lie apart so that this works' }),
      trade('hold', 'R35 R36'),
      trade('mute', 'R35 R36', { note: 'lengths and ramps vary; both heads bad: mute' }),
    ],
    errorCodes: [],
    losses: losses(mode),
    details: DETAILS,
    cautions: mode.cautions,
  };
}

/** One head carries left-odd and right-even samples, the other left-even and right-odd (R27). Which is which head is open: both are given. */
function losses(mode: Mode): readonly LossPattern[] {
  const odd = mode.channels === 4 ? [1, 3] : [1];
  const even = mode.channels === 4 ? [2, 4] : [2];
  const pattern = (id: string, label: string, cause: LossPattern['cause'], first: 0 | 1): LossPattern => ({
    id,
    label,
    cause,
    period: 2,
    restarts: 'frame',
    cycles: [
      [
        { channels: odd, lost: [{ from: first, count: 1, stride: 1 }] },
        { channels: even, lost: [{ from: 1 - first, count: 1, stride: 1 }] },
      ],
    ],
    hypothesis: mode.channels === 4,
    source: 'R27',
    certainty: 'T',
    note:
      mode.channels === 4
        ? 'the parity of channels 3 and 4 is assumed to follow 1 and 2'
        : 'within an odd frame of 1323 samples the parity starts again (assumed)',
  });
  return [
    pattern('left-even', 'one head lost: left even and right odd samples', 'one-head', 0),
    pattern('left-odd', 'one head lost: left odd and right even samples', 'one-head', 1),
    pattern('track-left-even', 'one track of a frame lost: left even and right odd samples', 'one-track', 0),
    pattern('track-left-odd', 'one track of a frame lost: left odd and right even samples', 'one-track', 1),
  ];
}

const DETAILS: readonly PrintedFact[] = [
  { group: 'tape', name: 'azimuth', fact: memory('+-20 degrees') },
  { group: 'tape', name: 'track pitch', fact: memory(13.591, { unit: 'um', note: 'wide track 20.4' }) },
  { group: 'recording', name: 'channel code', fact: trade('8-10, tracking by frequencies in the track', 'R22 R24') },
  { group: 'recording', name: 'track', fact: memory('196 blocks of 360 channel bits, 7.5 ms; 128 blocks are sound') },
  {
    group: 'recording',
    name: 'correction',
    fact: memory('C1 = RS(32,28), C2 = RS(32,26) over GF(256)', { note: 'dual Reed-Solomon is T (R22)' }),
  },
  {
    group: 'data',
    name: 'main identification',
    fact: trade('emphasis, rate, channels, quantisation, pitch and copy state, two bits each', 'R23 R25'),
  },
  {
    group: 'data',
    name: 'subcode',
    fact: trade(
      'programme numbers, start and skip marks, times; can be rewritten without touching the sound',
      'R25 R26',
    ),
  },
  {
    group: 'data',
    name: 'frame of a computer drive',
    fact: trade(5822, 'R23', { unit: 'bytes', note: '5760 of sound, seven packs, sub-ID, main ID' }),
  },
  { group: 'data', name: 'copy state', fact: memory('one generation becomes prohibited on the copy') },
];

export const datFormats: readonly TapeFormat[] = frozen(MODES.map(format));
