// The professional channel-status block (AES3-2, IEC 60958-4). Sources: R42 (constants in a public header), R48 (a handbook that prints
// the tables of AES3); where they disagree the note of the code says so. docs/sources.md.
import { codeField, FIRST_BITS, plainField, type StatusLayout } from './field.ts';

export const PROFESSIONAL: StatusLayout = {
  use: 'professional',
  fields: [
    ...FIRST_BITS,
    codeField(
      [0, 2, 3],
      'emphasis',
      'emphasis',
      [
        [0, 'not indicated', 'T'],
        [1, 'none', 'T'],
        [3, '50/15 us', 'T'],
        [7, 'J.17', 'T'],
      ],
      'emphasis',
    ),
    codeField([0, 5, 1], 'lock', 'lock of the source', [
      [0, 'not indicated', 'T'],
      [1, 'unlocked', 'T'],
    ]),
    codeField(
      [0, 6, 2],
      'rate',
      'sampling rate',
      [
        [0, 'not indicated', 'T'],
        [1, '44100', 'T', 44_100],
        [2, '48000', 'T', 48_000],
        [3, '32000', 'T', 32_000],
      ],
      'rate',
    ),
    codeField([1, 0, 4], 'channel-mode', 'channel mode', [
      [0, 'not indicated', 'T'],
      [2, 'stereo', 'T'],
      [4, 'single channel', 'T'],
      [8, 'two channels', 'T'],
      [12, 'primary and secondary', 'T'],
      [15, 'see byte 3', 'T'],
    ]),
    codeField([1, 4, 4], 'user-bits', 'user bits', [
      [0, 'not indicated', 'T'],
      [8, '192-bit blocks', 'T'],
      [12, 'user defined', 'T'],
    ]),
    codeField([2, 0, 3], 'auxiliary-bits', 'auxiliary bits', [
      [0, 'not defined (word of 20 at most)', 'T', 20],
      [2, 'coordination (word of 20 at most)', 'T', 20],
      [4, 'audio (word of 24 at most)', 'T', 24],
      [6, 'user defined', 'T'],
    ]),
    // `number`: bits below the longest word that the auxiliary bits allow.
    codeField(
      [2, 3, 3],
      'word',
      'word length',
      [
        [0, 'not indicated', 'T'],
        [1, '20 (16)', 'T', -4, 'printed in R48; not in R42'],
        [2, '22 (18)', 'T', -2],
        [4, '23 (19)', 'T', -1],
        [5, '24 (20)', 'T', 0],
        [
          6,
          '21 (17), in older tables 20 (16)',
          'T',
          undefined,
          'R42 and a table of 1990 say 20 (16), R48 says 21 (17): no length is taken from it',
        ],
      ],
      'word',
    ),
    codeField([2, 6, 2], 'alignment-level', 'alignment level', [
      [0, 'not indicated', 'T'],
      [1, '18.06 dB below full scale (R 68)', 'T'],
      [2, '20 dB below full scale (RP 155)', 'T'],
    ]),
    plainField('number', [3, 0, 7], 'channel-number', 'channel number or mode'),
    codeField([3, 7, 1], 'multichannel', 'multichannel mode', [
      [0, 'undefined', 'T'],
      [1, 'defined', 'T'],
    ]),
    codeField([4, 0, 2], 'reference-grade', 'reference signal', [
      [0, 'no reference signal', 'T'],
      // As sent, bit 0 first: 01 is grade 1, 10 is grade 2.
      [2, 'grade 1', 'T'],
      [1, 'grade 2', 'T'],
    ]),
    plainField('reserved', [4, 2, 1], 'reserved-4', 'reserved'),
    codeField([4, 3, 4], 'more-rates', 'further rates', [
      [0, 'not indicated', 'T'],
      [1, '24000', 'M', 24_000],
      [2, '96000', 'T', 96_000],
      [3, '192000', 'T', 192_000],
      [9, '22050', 'T', 22_050],
      [10, '88200', 'T', 88_200],
      [11, '176400', 'T', 176_400],
      [15, 'user defined', 'M'],
    ]),
    codeField([4, 7, 1], 'rate-scaling', 'rate scaling', [
      [0, 'none', 'T'],
      [1, 'rate divided by 1.001', 'T'],
    ]),
    plainField('reserved', [5, 0, 8], 'reserved-5', 'reserved'),
    plainField('text', [6, 0, 32], 'origin', 'origin'),
    plainField('text', [10, 0, 32], 'destination', 'destination'),
    plainField('number', [14, 0, 32], 'sample-address', 'sample address'),
    plainField('number', [18, 0, 32], 'time-of-day', 'time of day as sample address'),
    plainField('reserved', [22, 0, 4], 'reserved-22', 'reserved'),
    reliability(4, 'bytes-0-5', 'bytes 0 to 5'),
    reliability(5, 'bytes-6-13', 'bytes 6 to 13'),
    reliability(6, 'bytes-14-17', 'bytes 14 to 17'),
    reliability(7, 'bytes-18-21', 'bytes 18 to 21'),
    plainField('number', [23, 0, 8], 'check', 'check byte'),
  ],
};

function reliability(bit: number, key: string, label: string) {
  return codeField([22, bit, 1], key, label, [
    [0, 'reliable', 'T'],
    [1, 'unreliable', 'T'],
  ]);
}
