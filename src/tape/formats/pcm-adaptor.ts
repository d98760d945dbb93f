// PCM adaptor recordings on video recorders (EIAJ STC-007, IEC 60841), 14 bit and the 16-bit extension. Data only.
// Nearly all of the line and block structure is from memory; it tests itself on the first real capture (CRC, parities).
import { type Rate, rate } from '../../base/index.ts';
import { derived, type Fact, frozen, memory, standard, trade } from '../fact.ts';
import { fixedLength, type PrintedFact, type TapeFormat, type TvSystem } from '../format.ts';
import type { LossPattern, LostRun } from '../loss-pattern.ts';

interface Variant {
  readonly id: string;
  readonly name: string;
  readonly system: TvSystem;
  readonly rate: Rate;
  /** audio lines per field */
  readonly lines: 245 | 294;
  readonly fieldMs: string;
  readonly bitRate: string;
}

const VARIANTS: readonly Variant[] = [
  {
    id: '525',
    name: '525/60 colour',
    system: '525/60',
    rate: rate(6_300_000, 143),
    lines: 245,
    fieldMs: '16.683',
    bitRate: '2.643357 Mbit/s (168 times the line rate)',
  },
  {
    id: '525-mono',
    name: '525/60 monochrome (60.000 Hz)',
    system: '525/60',
    rate: rate(44_100),
    lines: 245,
    fieldMs: '16.667',
    bitRate: '2.646 Mbit/s',
  },
  {
    id: '625',
    name: '625/50',
    system: '625/50',
    rate: rate(44_100),
    lines: 294,
    fieldMs: '20.000',
    bitRate: '2.625 Mbit/s',
  },
];

function format(variant: Variant, bits: 14 | 16): TapeFormat {
  const perField = 3 * variant.lines;
  return {
    id: `pcm-adaptor-${variant.id}${bits === 16 ? '-16bit' : ''}`,
    family: 'pcm-adaptor',
    label: `PCM adaptor on a video cassette, ${variant.name}, ${bits} bit`,
    standard: bits === 14 ? 'EIAJ STC-007, IEC 60841' : 'extension of EIAJ STC-007, not in the standard',
    system: variant.system,
    signal: {
      rates: trade([variant.rate], 'R31', {
        note: `3 samples on each of ${variant.lines} lines of a field; 44.1 kHz and 44.056 kHz differ by 0.1 per cent`,
      }),
      clock: trade('locked to the line rate of the recording', 'R31'),
      tapeBits: memory(bits, {
        unit: 'bit',
        note:
          bits === 14
            ? 'a 16-bit output shows two constant low bits'
            : 'the low bits use the slot of the second parity',
      }),
      linearBits: memory(bits, { unit: 'bit' }),
      law: memory('linear'),
      rivalLaws: [],
      channels: trade(2, 'R29'),
      programmes: trade(1, 'R29'),
      emphasis: memory('flag-50-15', { note: 'control word, bit 14: 0 is on' }),
      channelSkew: trade(0.5, 'R33 R34', {
        unit: 'sample',
        note: 'with one converter for both channels in turn, left first (order from memory); 0 with two converters or a digital input: measure it',
      }),
    },
    units: [
      { name: 'line', length: memory(fixedLength(3), { unit: 'samples' }) },
      {
        name: 'field',
        length: trade(fixedLength(perField), 'R31', { unit: 'samples', note: `${variant.fieldMs} ms` }),
      },
      { name: 'field-pair', length: derived(fixedLength(2 * perField), 'T', 'R31', { unit: 'samples' }) },
    ],
    drum: {
      heads: memory(2, { note: 'of the host recorder' }),
      headUse: memory('heads alternate, one field each'),
      revolutionsPerMinute: derived(
        variant.id === '525' ? 1_800_000 / 1001 : variant.lines === 245 ? 1800 : 1500,
        'M',
        'D',
        {
          unit: 'rpm',
          note: 'two fields per revolution',
        },
      ),
    },
    tapeSpeeds: [],
    playingTimes: [],
    concealment: [
      trade('mean-of-neighbours', 'R35 R36', { note: 'if both neighbours of the channel are good' }),
      trade('hold', 'R35 R36'),
      trade('mute', 'R35 R36', { note: 'lengths vary' }),
    ],
    errorCodes: [],
    losses: [headLoss(variant.lines, bits)],
    details: details(variant, bits),
    cautions: cautions(bits),
  };
}

/**
 * Words of a block that stay unrecoverable, as blocks [from, to) with the lost field starting at block F and NL lines in a field:
 * L0 F, R0 F-16, L1 F-32, R1 F-48, L2 F-64, R2 F-80, each to the last column below. Formats sheet 6.8; F is placed at 80.
 */
function headLoss(lines: number, bits: 14 | 16): LossPattern {
  const first = 80;
  const rescued = bits === 14 ? 32 : 16;
  const ends = [rescued, rescued, Math.max(32, rescued), 48, 64, 80];
  const run = (word: number): LostRun => {
    const fromBlock = first - 16 * word;
    const toBlock = first + lines - ends[word];
    return { from: 3 * fromBlock + Math.floor(word / 2), count: toBlock - fromBlock, stride: 3 };
  };
  return {
    id: 'alternate-fields-interleaved',
    label: 'one of two video heads lost: six staggered windows in every pair of fields',
    cause: 'one-head',
    period: 6 * lines,
    restarts: 'never',
    cycles: [
      [
        { channels: [1], lost: [run(0), run(2), run(4)] },
        { channels: [2], lost: [run(1), run(3), run(5)] },
      ],
    ],
    hypothesis: false,
    source: 'D',
    certainty: 'D',
    weakest: 'M',
    note: 'lost field begins at sample 240 of the period; in the middle all samples are lost, on both flanks one or two in three',
  };
}

function details(variant: Variant, bits: 14 | 16): readonly PrintedFact[] {
  const correction =
    bits === 14
      ? memory('two parities P and Q: any two lost words of a block, 32 lines in a row')
      : memory('one parity P over 16 bits: one lost word of a block, 16 lines in a row');
  return [
    { group: 'recording', name: 'bit rate', fact: trade(variant.bitRate, 'R31') },
    { group: 'recording', name: 'lines per field', fact: trade(`${variant.lines} of sound and 1 of control`, 'R31') },
    {
      group: 'recording',
      name: 'data bits of a line',
      fact: trade(128, 'R32', { note: 'eight words of 14 and a CRC of 16; the split is from memory' }),
    },
    {
      group: 'recording',
      name: 'white reference',
      fact: trade('four bits at the end of the line, brighter than a data one', 'R32'),
    },
    {
      group: 'recording',
      name: 'interleave',
      fact: memory('word i of block b lies on line b + 16 i: 112 lines, 7.6 ms'),
    },
    { group: 'recording', name: 'correction', fact: correction },
    {
      group: 'recording',
      name: 'CRC',
      fact: memory('x^16 + x^12 + x^5 + 1, preset to ones, over the 112 bits of the line'),
    },
    {
      group: 'data',
      name: 'control line',
      fact: standard('cueing, content identification, address, control and error words exist', 'R30', {
        note: 'their bits are from memory; recorders often leave them zero',
      }),
    },
    { group: 'data', name: 'copy bit', fact: memory('control word, bit 11: 1 is prohibited') },
  ];
}

function cautions(bits: 14 | 16): readonly Fact<string>[] {
  const all: Fact<string>[] = [
    trade(
      'A tape of the other television system does not decode; colour against monochrome shifts the rate by 0.1 per cent.',
      'R34',
    ),
    memory(
      'Dropout compensators and noise reducers of the host recorder repeat lines whose CRC is good although the data are old: switch them off.',
    ),
    derived('Material of 44.056 kHz labelled 44.1 kHz is 1.73 cent sharp and 3.6 s per hour short.', 'T', 'R31'),
    trade(
      'Repair half-sample skew only after the transfer, in 24 bits or more, and only where one converter was used.',
      'R33 R34',
    ),
  ];
  if (bits === 16) all.push(memory('A 14-bit unit plays the upper 14 bits of a 16-bit tape, with weaker correction.'));
  return all;
}

export const pcmAdaptorFormats: readonly TapeFormat[] = frozen(
  VARIANTS.flatMap((variant) => [format(variant, 14), format(variant, 16)]),
);
