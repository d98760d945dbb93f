// 8 mm video cassettes: PCM sound beside a picture, and six stereo programmes without one (IEC 60843, IEC 60843-3). Data only.
import { rate } from '../../base/index.ts';
import { derived, type Fact, frozen, memory, standard, trade, unknown } from '../fact.ts';
import { fixedLength, type PlayingTime, type PrintedFact, type TapeFormat, type TvSystem } from '../format.ts';
import type { LossPattern } from '../loss-pattern.ts';

interface SystemNumbers {
  readonly suffix: '525' | '625';
  readonly system: TvSystem;
  readonly rate: readonly [number, number];
  readonly perField: number;
  readonly rpm: number;
  readonly speed: number;
  readonly longPlay: Fact<{ mode: string; mmPerSecond: number }>;
  readonly pitchUm: number;
  readonly fieldMs: string;
  readonly words: string;
  readonly bitRate: string;
  readonly burst: string;
  readonly cassette: string;
  readonly minutes: number;
}

const NUMBERS: readonly SystemNumbers[] = [
  {
    suffix: '525',
    system: '525/60',
    rate: [4_500_000, 143],
    perField: 525,
    rpm: 1_800_000 / 1001,
    speed: 14.345,
    longPlay: memory({ mode: 'LP', mmPerSecond: 7.19 }, { unit: 'mm/s', note: 'about half; digits from memory' }),
    pitchUm: 20.5,
    fieldMs: '16.683',
    words: '2 x 525 + 6 identification words = 1056 = 132 blocks of 8',
    bitRate: '5.790 Mbit/s (368 times the line rate), biphase mark',
    burst: '2.439 ms, 26.3 degrees of drum',
    cassette: '120 min tape, 525/60',
    minutes: 120,
  },
  {
    suffix: '625',
    system: '625/50',
    rate: [31_250, 1],
    perField: 625,
    rpm: 1500,
    speed: 20.051,
    longPlay: trade({ mode: 'LP', mmPerSecond: 10.06 }, 'R4', {
      unit: 'mm/s',
      note: '1 cm/s in print; further digits from memory',
    }),
    pitchUm: 34.4,
    fieldMs: '20.000',
    words: '2 x 625 + 6 identification words = 1256 = 157 blocks of 8',
    bitRate: '5.750 Mbit/s (368 times the line rate), biphase mark',
    burst: '2.922 ms, 26.3 degrees of drum',
    cassette: '90 min tape, 625/50',
    minutes: 90,
  },
];

function withPicture(n: SystemNumbers): TapeFormat {
  return {
    ...common(n),
    id: `eight-mm-pcm-${n.suffix}`,
    family: 'eight-mm-pcm',
    label: `8 mm video with PCM sound, ${n.system}`,
    standard: 'IEC 60843',
    playingTimes: [trade({ cassette: n.cassette, mode: 'SP', minutes: n.minutes }, 'R5', { unit: 'min' })],
  };
}

function sixProgrammes(n: SystemNumbers): TapeFormat {
  const base = common(n);
  return {
    ...base,
    id: `eight-mm-six-programmes-${n.suffix}`,
    family: 'eight-mm-six-programmes',
    label: `8 mm cassette with six stereo programmes and no picture, ${n.system}`,
    standard: 'IEC 60843-3',
    signal: {
      ...base.signal,
      programmes: trade(6, 'R12 R4', {
        note: 'five in the picture area, one in the normal PCM section; one programme per pass',
      }),
    },
    playingTimes: sixProgrammeTimes(n),
    details: [...base.details, ...SIX_PROGRAMME_DETAILS],
    cautions: [
      memory(
        'On a picture-only deck: noise on the screen, and silence or only the programme in the normal PCM section.',
      ),
      ...base.cautions,
    ],
  };
}

function sixProgrammeTimes(n: SystemNumbers): readonly Fact<PlayingTime>[] {
  const source = n.suffix === '525' ? 'R12' : 'R4';
  return [
    trade({ cassette: n.cassette, mode: 'SP', minutes: n.minutes }, source, {
      unit: 'min',
      note: 'per programme; six passes',
    }),
    trade({ cassette: n.cassette, mode: 'LP', minutes: 2 * n.minutes }, source, {
      unit: 'min',
      note: 'per programme; six passes',
    }),
  ];
}

const SIX_PROGRAMME_DETAILS: readonly PrintedFact[] = [
  {
    group: 'recording',
    name: 'sections',
    fact: memory('the 180 degree picture part of each track is divided into five sections of 36 degrees'),
  },
  {
    group: 'recording',
    name: 'programmes against each other',
    fact: derived(
      'passes share field timing: after alignment the offset is a whole number of fields, plus the drift of the capture clock',
      'M',
    ),
  },
  {
    group: 'recording',
    name: 'direction',
    fact: memory('every programme runs the full length of the tape in the same direction'),
  },
];

function common(n: SystemNumbers): Omit<TapeFormat, 'id' | 'family' | 'label' | 'standard' | 'playingTimes'> {
  return {
    system: n.system,
    signal: {
      rates: trade([rate(...n.rate)], 'R6', {
        note: 'twice the line rate, exactly; a capture may be labelled 32 kHz, which is wrong by 2 per cent or so',
      }),
      clock: trade('locked to twice the line rate of the recording', 'R6'),
      tapeBits: trade(8, 'R2 R6', { unit: 'bit' }),
      linearBits: trade(10, 'R6', { unit: 'bit' }),
      law: memory('eight-mm-16-64-320', {
        note: 'that there are four segments is T (R6); the break points are remembered, not proven: fit them to the capture',
      }),
      rivalLaws: ['eight-mm-32-64-256', 'eight-mm-16-64-320-sign-magnitude', 'eight-mm-32-64-256-sign-magnitude'],
      channels: trade(2, 'R2'),
      programmes: trade(1, 'R2'),
      emphasis: memory('none-known', {
        note: 'pre-emphasis belongs to the analogue noise reduction; no 50/15 us flag is known',
      }),
      channelSkew: unknown(['0 (sampled together)', '0.5 (one converter in turn)'], 'measure it'),
    },
    units: [
      {
        name: 'field',
        length: derived(fixedLength(n.perField), 'T', 'R6', { unit: 'samples', note: `${n.fieldMs} ms` }),
      },
      { name: 'field-pair', length: derived(fixedLength(2 * n.perField), 'T', 'R6', { unit: 'samples' }) },
    ],
    drum: {
      heads: trade(2, 'R1'),
      headUse: trade('heads alternate, one field each', 'R1'),
      revolutionsPerMinute: trade(n.rpm, 'R1 R2', {
        unit: 'rpm',
        note: 'two fields per revolution; a web table with 1500 rpm for 525 is wrong',
      }),
      diameterMm: trade(40, 'R1 R2', { unit: 'mm', note: 'small drums 26.7 mm with more wrap' }),
    },
    tapeSpeeds: [trade({ mode: 'SP', mmPerSecond: n.speed }, 'R2 R1', { unit: 'mm/s' }), n.longPlay],
    concealment: [
      memory('mean-of-neighbours', { note: 'very short gaps only' }),
      memory('hold', { note: 'per field' }),
      memory('mute', { note: 'per field; with one head lost both channels are gated at half the field rate' }),
    ],
    errorCodes: [],
    losses: [alternateFields(n)],
    details: details(n),
    cautions: CAUTIONS,
  };
}

function alternateFields(n: SystemNumbers): LossPattern {
  return {
    id: 'alternate-fields',
    label: 'one of two heads lost: every second field of both channels',
    cause: 'one-head',
    period: 2 * n.perField,
    restarts: 'never',
    cycles: [[{ channels: [1, 2], lost: [{ from: n.perField, count: n.perField, stride: 1 }] }]],
    hypothesis: false,
    source: 'D',
    certainty: 'D',
    weakest: 'M',
    note: 'no interleave across fields, so the edges are sharp',
  };
}

function details(n: SystemNumbers): readonly PrintedFact[] {
  return [
    { group: 'tape', name: 'track pitch SP', fact: trade(n.pitchUm, 'R2 R1', { unit: 'um' }) },
    { group: 'tape', name: 'azimuth', fact: trade('+-10 degrees', 'R1') },
    { group: 'tape', name: 'tracking', fact: trade('four pilot tones in the track, no control track', 'R1') },
    {
      group: 'recording',
      name: 'words per field',
      fact: memory(n.words, { note: 'the fit to multiples of 8 speaks for it' }),
    },
    {
      group: 'recording',
      name: 'block',
      fact: memory('sync 3, address 8, eight words of 8, P 8, Q 8, CRC 16: 107 bits', {
        note: 'redundancy 38.46 per cent; a handbook (R6) gives about 38.5',
      }),
    },
    { group: 'recording', name: 'bit rate', fact: memory(n.bitRate) },
    { group: 'recording', name: 'burst', fact: derived(n.burst, 'M') },
    {
      group: 'recording',
      name: 'correction',
      fact: memory('cross-interleave with two parities and a CRC-16 as error flag, inside one track'),
    },
    {
      group: 'recording',
      name: 'interleave distances and parity equations',
      fact: unknown([], 'not found; not needed behind the deck'),
    },
    {
      group: 'recording',
      name: 'delay against the picture',
      fact: trade('the sound of a field may lie in the next field: a constant delay of one field', 'R8', {
        note: 'a patent only; treat it as a constant to be measured',
      }),
    },
    {
      group: 'sound',
      name: 'noise reduction',
      fact: memory('analogue 2:1 compander around the converters, with pre-emphasis inside', {
        note: 'compressed before quantising is T (R6); a digital tap ahead of the expander still carries the compressed sound',
      }),
    },
    {
      group: 'sound',
      name: 'quantising noise',
      fact: derived(
        'sine, signal to noise 46 dB at full scale, 40 dB at -10, 39 dB at -18, 33 dB at -24 dBFS (default law)',
        'M',
      ),
    },
    { group: 'data', name: 'six identification words per field', fact: unknown([], 'their use was not found') },
    {
      group: 'data',
      name: 'video subcode',
      fact: standard('blocks of five words and a CRC-8: time code, date and time, tape modes', 'R11'),
    },
    { group: 'data', name: 'copy bits', fact: memory('none known') },
  ];
}

const CAUTIONS: readonly Fact<string>[] = [
  memory(
    'A tape of the other television system does not lock (drum speed and track pitch differ) and the PCM is muted: use a deck of its system.',
    {
      note: 'speeds and pitches themselves are T (R1 R2)',
    },
  ),
  derived('A capture relabelled between the systems is off by the ratio 1.00699 (12.1 cent).', 'T'),
  memory('A long-play tape on a standard-play deck fails to track: muted or gated sound.'),
  derived('Code words taken for linear samples sound loudly distorted; slopes differ by up to 8 to 1.', 'T'),
  derived(
    'No interface code exists for 31.25 or 31.47 kHz: decks send the nearest one. An input that resamples destroys bit truth.',
    'T',
    'R42',
  ),
];

export const eightMmFormats: readonly TapeFormat[] = frozen(NUMBERS.flatMap((n) => [withPicture(n), sixProgrammes(n)]));
