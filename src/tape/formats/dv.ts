// DV sound on 6.35 mm cassettes and on 8 mm cassettes (IEC 61834-2, SMPTE 314M). Data only; reading DV files is media's.
import { type Rate, rate } from '../../base/index.ts';
import { derived, type Fact, frozen, memory, standard, trade } from '../fact.ts';
import type { PlayingTime, PrintedFact, SampleUnit, TapeFormat, TvSystem, UnitLength } from '../format.ts';
import type { LossPattern } from '../loss-pattern.ts';
import { dvHeadLosses } from './dv-losses.ts';

type Suffix = '525' | '625';
type Carrier = '6.35 mm' | '8 mm';

interface Mode {
  readonly suffix: string;
  readonly label: string;
  readonly rate: number;
  readonly channels: 2 | 4;
  readonly length: Readonly<Record<Suffix, Fact<UnitLength>>>;
}

const ratio = (num: number, den = 1): Rate => ({ num, den });
const MIN_MAX_NOTE = 'smallest and largest counts T (R18 R19)';

const LENGTH_32K: Mode['length'] = {
  525: derived({ mean: ratio(16016, 15), min: 1053, max: 1080 }, 'S', 'R18', {
    unit: 'samples',
    note: `locked: thirteen frames of 1068 and two of 1066 in 15 (order from memory); unlocked: free; ${MIN_MAX_NOTE}`,
  }),
  625: derived({ mean: ratio(1280), min: 1264, max: 1296 }, 'T', 'R18 R19', {
    unit: 'samples',
    note: `locked: always 1280; unlocked: free; ${MIN_MAX_NOTE}`,
  }),
};

const MODES: readonly Mode[] = [
  {
    suffix: '48k',
    label: '48 kHz, 16 bit, two channels',
    rate: 48000,
    channels: 2,
    length: {
      525: derived({ mean: ratio(8008, 5), min: 1580, max: 1620, cycle: [1600, 1602, 1602, 1602, 1602] }, 'S', 'R18', {
        unit: 'samples',
        note: `the cycle holds where locked; ${MIN_MAX_NOTE}`,
      }),
      625: derived({ mean: ratio(1920), min: 1896, max: 1944 }, 'T', 'R18 R19', {
        unit: 'samples',
        note: `locked: always 1920; ${MIN_MAX_NOTE}`,
      }),
    },
  },
  {
    suffix: '44k1',
    label: '44.1 kHz, 16 bit, two channels',
    rate: 44100,
    channels: 2,
    length: {
      525: derived({ mean: ratio(147147, 100), min: 1452, max: 1489 }, 'S', 'R18 R19', {
        unit: 'samples',
        note: 'never locked to the picture (memory)',
      }),
      625: derived({ mean: ratio(1764), min: 1742, max: 1786 }, 'T', 'R18 R19', {
        unit: 'samples',
        note: 'never locked to the picture (memory)',
      }),
    },
  },
  { suffix: '32k', label: '32 kHz, 16 bit, two channels', rate: 32000, channels: 2, length: LENGTH_32K },
  { suffix: '32k-4ch', label: '32 kHz, 12 bit nonlinear, four channels', rate: 32000, channels: 4, length: LENGTH_32K },
];

const SYSTEMS: Readonly<Record<Suffix, TvSystem>> = { 525: '525/60', 625: '625/50' };

function format(carrier: Carrier, suffix: Suffix, mode: Mode): TapeFormat {
  const family = carrier === '8 mm' ? 'dv-8mm' : 'dv';
  const fourChannels = mode.channels === 4;
  return {
    id: `${family}-${suffix}-${mode.suffix}`,
    family,
    label: `DV on a ${carrier} cassette, ${SYSTEMS[suffix]}, ${mode.label}`,
    standard: 'IEC 61834-2',
    system: SYSTEMS[suffix],
    signal: {
      rates: trade([rate(mode.rate)], 'R18 R19', { note: 'exact where locked, free-running where not' }),
      clock: standard('locked to the picture or free-running; each frame says which', 'R18 R19'),
      tapeBits: standard(fourChannels ? 12 : 16, 'R21', { unit: 'bit' }),
      linearBits: standard(16, 'R21', { unit: 'bit' }),
      law: fourChannels ? standard('nonlinear-12', 'R21') : standard('linear', 'R21'),
      rivalLaws: fourChannels ? ['nonlinear-12-mid-step'] : [],
      channels: trade(
        mode.channels,
        'R18 R19',
        fourChannels ? { note: 'two stereo pairs; the second may never have been recorded' } : {},
      ),
      programmes: trade(1, 'R18 R19'),
      emphasis: standard('flag-50-15', 'R19 R20', {
        note: 'flag in the audio source pack, or in the control pack of SMPTE 314M',
      }),
      channelSkew: memory(0, { note: 'no skew known' }),
    },
    units: [trackUnit(suffix, mode.length[suffix].value), { name: 'frame', length: mode.length[suffix] }],
    drum: drum(carrier, suffix),
    ...transport(carrier),
    concealment: CONCEALMENT,
    errorCodes: [fourChannels ? CODE_12 : CODE_16],
    losses: losses(carrier, suffix, fourChannels),
    details: details(carrier, suffix),
    cautions: cautions(carrier, fourChannels),
  };
}

/** Samples of one audio channel in one track: three in every 15 or 18 of the frame, the last stretch being incomplete. */
function trackUnit(suffix: Suffix, frame: UnitLength): SampleUnit {
  const tracks = suffix === '525' ? 5 : 6;
  const length = {
    mean: rate(frame.mean.num, frame.mean.den * tracks),
    min: 3 * Math.floor(frame.min / (3 * tracks)),
    max: 3 * Math.ceil(frame.max / (3 * tracks)),
  };
  return {
    name: 'track',
    length: derived(length, 'T', 'R18 R19', {
      unit: 'samples',
      note: `one frame of a channel is spread over ${tracks} tracks; the order of tracks repeats every ${3 * tracks} samples`,
    }),
  };
}

function drum(carrier: Carrier, suffix: Suffix): TapeFormat['drum'] {
  const slow = suffix === '525' ? 1.001 : 1;
  return carrier === '8 mm'
    ? {
        heads: trade(2, 'R14 R15'),
        headUse: trade('heads alternate; each scan holds two DV tracks end to end', 'R14 R15'),
        revolutionsPerMinute: trade(4500 / slow, 'R14 R15', { unit: 'rpm' }),
        diameterMm: trade(40, 'R14 R15', { unit: 'mm' }),
      }
    : {
        heads: memory(2),
        headUse: memory('heads alternate, one track each'),
        revolutionsPerMinute: memory(9000 / slow, { unit: 'rpm' }),
      };
}

function transport(carrier: Carrier): Pick<TapeFormat, 'tapeSpeeds' | 'playingTimes'> {
  const minutes = (mode: string, cassette: string, count: number): PlayingTime => ({ cassette, mode, minutes: count });
  if (carrier === '8 mm') {
    return {
      tapeSpeeds: [
        trade({ mode: 'SP', mmPerSecond: 28.666 }, 'R15', { unit: 'mm/s' }),
        memory({ mode: 'LP', mmPerSecond: 19.111 }, { unit: 'mm/s', note: 'two thirds of SP' }),
      ],
      playingTimes: [
        trade(minutes('SP', '120 min tape, 525/60', 60), 'R16', { unit: 'min' }),
        trade(minutes('LP', '120 min tape, 525/60', 90), 'R16', { unit: 'min' }),
      ],
    };
  }
  return {
    tapeSpeeds: [
      memory({ mode: 'SP', mmPerSecond: 18.81 }, { unit: 'mm/s' }),
      memory({ mode: 'LP', mmPerSecond: 12.56 }, { unit: 'mm/s' }),
    ],
    playingTimes: [
      memory(minutes('SP', '60 min cassette', 60), { unit: 'min' }),
      memory(minutes('LP', '60 min cassette', 90), { unit: 'min' }),
      memory(minutes('SP', '80 min cassette', 80), { unit: 'min' }),
      memory(minutes('LP', '80 min cassette', 120), { unit: 'min' }),
    ],
  };
}

const CODE_16 = standard({ bits: 16, word: 0x8000, sample: -32768 }, 'R21', {
  note: 'encoders move genuine values to 0x8001, so a bit-true capture holds no -32768 as sound',
});
const CODE_12 = standard({ bits: 12, word: 0x800, sample: -32705 }, 'R21', {
  note: 'encoders move genuine values to 0x801; the sample given is the code after expansion to the lower edge',
});

const CONCEALMENT: TapeFormat['concealment'] = [
  memory('error-code', { note: 'the digital stream of many decks passes the codes on' }),
  memory('mean-of-neighbours', {
    note: 'on analogue and interface outputs; with three samples lost a straight line over all three',
  }),
  memory('hold'),
  memory('mute'),
];

function losses(carrier: Carrier, suffix: Suffix, fourChannels: boolean): readonly LossPattern[] {
  const [first, second] = fourChannels
    ? [
        [1, 2],
        [3, 4],
      ]
    : [[1], [2]];
  return dvHeadLosses(carrier, suffix, first, second);
}

function details(carrier: Carrier, suffix: Suffix): readonly PrintedFact[] {
  const [tracks, scans] = suffix === '525' ? [10, 5] : [12, 6];
  const onTape = carrier === '8 mm' ? `${scans} scans of two tracks per frame` : `${tracks} tracks per frame`;
  const pitch = carrier === '8 mm' ? trade(16.34, 'R15', { unit: 'um' }) : trade(10, 'R13', { unit: 'um' });
  return [
    { group: 'tape', name: 'tracks', fact: trade(onTape, carrier === '8 mm' ? 'R14 R15' : 'R13') },
    { group: 'tape', name: 'track pitch SP', fact: pitch },
    {
      group: 'recording',
      name: 'audio sector',
      fact: memory('14 sync blocks: 9 data and 5 outer parity; inner RS(85,77), outer RS(14,9)'),
    },
    {
      group: 'recording',
      name: 'reach of correction',
      fact: trade('one track: a lost track cannot be rebuilt from others', 'R17'),
    },
    {
      group: 'recording',
      name: 'sequences per frame',
      fact: standard(tracks, 'R18 R19', { note: 'one is one track' }),
    },
    {
      group: 'recording',
      name: 'placement of sample n',
      fact: derived(
        'sequence (floor(n/3) + 2 (n mod 3)) mod S within its audio block, S = half the sequences',
        'T',
        'R18 R19',
      ),
    },
    {
      group: 'data',
      name: 'date, time, time code',
      fact: trade('packs 0x13, 0x14, 0x62, 0x63 in subcode, video and audio auxiliary data', 'R18 R19'),
    },
    { group: 'data', name: 'copy bits', fact: standard('00 free, 10 one generation, 11 none', 'R19 R20') },
  ];
}

function cautions(carrier: Carrier, fourChannels: boolean): readonly Fact<string>[] {
  const all: Fact<string>[] = [
    memory(
      'Long-play tapes on a weak deck: block errors, error codes in bursts of a whole track; the other television system: mute.',
    ),
    trade('Professional variants with 18 um pitch or another speed need their own transport.', 'R45', {
      note: 'the pitch is T, that consumer decks refuse is from memory',
    }),
    standard('Ignore sound where the control pack does not say normal forward play.', 'R19 R20'),
  ];
  if (fourChannels) {
    all.push(
      memory('Decks put out pair 1, pair 2 or a mix, as set in a menu: two stereo passes, or the digital stream.'),
    );
  }
  if (carrier === '8 mm')
    all.push(
      trade(
        'A DV recording in an analogue 8 mm deck is noise; analogue tapes play only if the deck supports them.',
        'R14',
      ),
    );
  return all;
}

export const dvFormats: readonly TapeFormat[] = frozen(
  (['6.35 mm', '8 mm'] as const).flatMap((carrier) =>
    (['525', '625'] as const).flatMap((suffix) => MODES.map((mode) => format(carrier, suffix, mode))),
  ),
);
