// Modular digital eight-track recordings, on 8 mm cassettes and on S-VHS cassettes. Data only.
// Where each head's samples lie was not found for either: the loss patterns here are hypotheses to be tested on real errors.
import { rate } from '../../base/index.ts';
import { derived, type Fact, frozen, memory, trade, unknown } from '../fact.ts';
import { fixedLength, type PrintedFact, type TapeFormat } from '../format.ts';
import type { LossPattern } from '../loss-pattern.ts';

const ALL_CHANNELS = [1, 2, 3, 4, 5, 6, 7, 8];

const ODD_EVEN: LossPattern = {
  id: 'every-second-sample',
  label: 'one head lost: every second sample of all channels (hypothesis)',
  cause: 'one-head',
  period: 2,
  restarts: 'never',
  cycles: [[{ channels: ALL_CHANNELS, lost: [{ from: 0, count: 1, stride: 1 }] }]],
  hypothesis: true,
  source: 'memory',
  certainty: 'M',
  note: 'the usual principle of keeping odd and even samples apart (R28 for another format); not found for this one',
};

const HALF_REVOLUTION: LossPattern = {
  id: 'half-revolution',
  label: 'one head lost: blocks of 480 samples of all channels (hypothesis)',
  cause: 'one-head',
  period: 960,
  restarts: 'never',
  cycles: [[{ channels: ALL_CHANNELS, lost: [{ from: 0, count: 480, stride: 1 }] }]],
  hypothesis: true,
  source: 'memory',
  certainty: 'M',
};

const CONCEALMENT_8MM: TapeFormat['concealment'] = [
  memory('mean-of-neighbours', { note: 'the deck shows a lamp or a count' }),
  memory('hold'),
  memory('mute'),
];

function onEightMm(bits: 16 | 24, suffix: string): TapeFormat {
  return {
    id: `eight-track-8mm${suffix}`,
    family: 'eight-track-8mm',
    label: `Digital eight-track on an 8 mm cassette, ${bits} bit`,
    standard: 'no public standard',
    signal: {
      rates: trade(
        [rate(48_000), rate(44_100)],
        'R37 R38',
        bits === 24 ? { note: 'fewer tracks at 88.2 to 192 kHz (memory)' } : {},
      ),
      clock: memory('crystal'),
      varispeed: memory([48_000 * 0.94, 48_000 * 1.06], {
        unit: 'Hz',
        note: '6 per cent either way at 48 kHz; also 0.1 and 4 per cent pull-up and pull-down',
      }),
      tapeBits: trade(bits, 'R37 R38', { unit: 'bit' }),
      linearBits: trade(bits, 'R37 R38', { unit: 'bit' }),
      law: trade('linear', 'R37 R38'),
      rivalLaws: [],
      channels: trade(8, 'R37'),
      programmes: trade(1, 'R37'),
      emphasis: memory('none-known'),
      channelSkew: memory(0, { note: 'no skew known' }),
    },
    units: [],
    drum: {
      heads: memory(4, { note: 'two write, two read' }),
      headUse: unknown(
        ['every second sample per head', 'blocks of half a revolution per head'],
        'which samples lie on which head was not found',
      ),
      revolutionsPerMinute: unknown([], 'not found; fold error times to measure it'),
    },
    tapeSpeeds: [
      memory(
        { mode: 'normal', mmPerSecond: 15.9 },
        { unit: 'mm/s', note: '108 min of it is 103 m; a 120 min tape holds about 106 m' },
      ),
    ],
    playingTimes: [trade({ cassette: '120 min tape, 525/60', mode: 'normal', minutes: 108 }, 'R37', { unit: 'min' })],
    concealment: CONCEALMENT_8MM,
    errorCodes: [],
    losses: [ODD_EVEN],
    details: EIGHT_MM_DETAILS,
    cautions: [
      memory('A 24-bit tape in a 16-bit machine is refused or plays noise.'),
      trade(
        'Tracks 5 to 8 that look like full-scale noise with 8 active bits may be low bytes of tracks 1 to 4: never monitor them.',
        'R39',
        {
          note: 'the spreading of one signal over two tracks is T; the warning is ours',
        },
      ),
    ],
  };
}

const EIGHT_MM_DETAILS: readonly PrintedFact[] = [
  { group: 'tape', name: 'medium', fact: trade('high-band 8 mm metal tape', 'R37') },
  { group: 'recording', name: 'correction', fact: memory('Reed-Solomon product code') },
  { group: 'recording', name: 'interleave', fact: unknown(['odd and even samples apart'], 'not found') },
  {
    group: 'recording',
    name: 'word-length extension',
    fact: trade(
      'a mixing console could put the upper 16 bits on track n (1 to 4) and the lower 8 bits on track n + 4',
      'R39',
    ),
  },
  {
    group: 'data',
    name: 'time code',
    fact: memory('absolute time written when formatting; an offset or LTC in a subcode area on some machines'),
  },
  { group: 'deck', name: 'status', fact: memory('block error rate display, interpolation lamp or count') },
  {
    group: 'deck',
    name: 'output',
    fact: memory('serial link of eight channels, or four pairs of AES3 through a converter'),
  },
];

function onSvhs(bits: 16 | 20, suffix: string): TapeFormat {
  return {
    id: `eight-track-svhs${suffix}`,
    family: 'eight-track-svhs',
    label: `Digital eight-track on an S-VHS cassette, ${bits} bit`,
    standard: 'no public standard',
    signal: {
      rates: memory([rate(48_000), rate(44_100)], {
        note: '48 kHz nominal; 44.1 kHz by slowing tape and drum, on later machines by a mode flag',
      }),
      clock: memory('crystal, or run off speed'),
      varispeed: memory([40_400, 50_800], { unit: 'Hz' }),
      tapeBits: bits === 20 ? trade(20, 'R38', { unit: 'bit' }) : memory(16, { unit: 'bit' }),
      linearBits: bits === 20 ? trade(20, 'R38', { unit: 'bit' }) : memory(16, { unit: 'bit' }),
      law: memory('linear'),
      rivalLaws: [],
      channels: trade(8, 'R38 R40'),
      programmes: trade(1, 'R40'),
      emphasis: memory('none-known'),
      channelSkew: memory(0, { note: 'no skew known' }),
    },
    units: [
      {
        name: 'revolution',
        length: derived(fixedLength(960), 'M', 'D', { unit: 'samples', note: 'from 3000 rpm at 48 kHz' }),
      },
    ],
    drum: {
      heads: memory(4, { note: 'two and two' }),
      headUse: unknown(
        ['blocks of 480 samples (half a revolution)', 'odd and even samples, period 2'],
        'which samples lie on which head was not found',
      ),
      revolutionsPerMinute: memory(3000, { unit: 'rpm', note: 'at 48 kHz; scales with the rate' }),
      diameterMm: memory(62, { unit: 'mm' }),
    },
    tapeSpeeds: [
      trade({ mode: 'normal', mmPerSecond: 95.3 }, 'R40', {
        unit: 'mm/s',
        note: '95.76 from memory; unresolved; scales with the rate',
      }),
    ],
    playingTimes: [
      trade({ cassette: '180 min tape, 625/50', mode: 'normal', minutes: 44 }, 'R40', { unit: 'min' }),
      memory(
        { cassette: '120 min tape, 525/60', mode: 'normal', minutes: 40 },
        { unit: 'min', note: 'about, at 48 kHz' },
      ),
    ],
    concealment: [memory('mean-of-neighbours', { note: 'the deck shows an indicator' }), memory('mute')],
    errorCodes: [],
    losses: [HALF_REVOLUTION, ODD_EVEN],
    details: SVHS_DETAILS,
    cautions: svhsCautions(bits),
  };
}

const SVHS_DETAILS: readonly PrintedFact[] = [
  { group: 'tape', name: 'format header', fact: trade('15 s lead and 115 s data before usable sound', 'R40') },
  { group: 'tape', name: 'control track', fact: trade('linear, on the lower edge', 'R40') },
  {
    group: 'recording',
    name: 'track',
    fact: trade(
      'a row of sectors, one per channel, with gaps; each sector carries an overdub number and a time word',
      'R41',
    ),
  },
  {
    group: 'recording',
    name: 'what follows from it',
    fact: derived(
      'one channel can be re-recorded alone; a head fault hits all eight alike; errors in one channel only point at a bad punch-in',
      'T',
      'R41',
    ),
  },
  { group: 'data', name: 'address', fact: memory('absolute position, exact to one sample') },
];

function svhsCautions(bits: 16 | 20): readonly Fact<string>[] {
  return [
    bits === 20 ? memory('Machines for 16 bit refuse 20-bit tapes.') : memory('Machines for 20 bit play 16-bit tapes.'),
    memory('A picture recorder or a plain VHS shell may run the control track, and gives no sound.'),
    derived('A 44.1 kHz recording clocked out at 48 kHz is 146.7 cent sharp (ratio 160/147).', 'T'),
  ];
}

export const eightTrackFormats: readonly TapeFormat[] = frozen([
  onEightMm(16, ''),
  onEightMm(24, '-24bit'),
  onSvhs(16, ''),
  onSvhs(20, '-20bit'),
]);
