// The consumer channel-status block (IEC 60958-3). Sources: R42 (constants in a public header) and, where marked M, memory.
// A rate code of 0 and no emphasis are also what a device sends that fills nothing in: the words say so.
import { codeField, plainField, type StatusField, type StatusLayout } from './field.ts';

const CATEGORIES = [
  [0x00, 'general', 'T'],
  [0x01, 'optical disc', 'T'],
  [0x09, 'other optical disc', 'T'],
  [0x19, 'video disc', 'T'],
  [0x49, 'magneto-optical disc', 'T'],
  [0x79, 'laser-optical, other', 'T'],
  [0x02, 'PCM coder', 'T'],
  [0x12, 'digital mixer', 'T'],
  [0x1a, 'rate converter', 'T'],
  [0x22, 'sampler', 'T'],
  [0x2a, 'sound processor', 'T'],
  [0x7a, 'digital converter, other', 'T'],
  [0x03, 'DAT', 'T'],
  [0x0b, 'video recorder with digital sound', 'T'],
  [0x43, 'digital compact cassette', 'T'],
  [0x1b, 'magnetic disc', 'T'],
  [0x7b, 'magnetic, other', 'T'],
  [0x04, 'digital broadcast, Japan', 'T'],
  [0x0c, 'digital broadcast, Europe', 'T'],
  [0x64, 'digital broadcast, USA', 'T'],
  [0x44, 'electronic delivery of software', 'T'],
  [0x24, 'IEC 62105', 'T'],
  [0x7c, 'broadcast, other', 'T'],
  [0x05, 'synthesizer', 'T'],
  [0x0d, 'microphone', 'T'],
  [0x7d, 'musical instrument, other', 'T'],
  [0x06, 'A/D converter', 'T'],
  [0x66, 'A/D converter, other', 'T'],
  [0x16, 'A/D converter with copy information', 'T'],
  [0x76, 'A/D converter with copy information, other', 'T'],
  [0x08, 'solid-state recorder', 'T'],
  [0x78, 'solid state, other', 'T'],
  [0x40, 'experimental', 'T'],
] as const;

export const CONSUMER: StatusLayout = {
  use: 'consumer',
  fields: [
    codeField([0, 0, 1], 'use', 'use of the block', [
      [0, 'consumer', 'T'],
      [1, 'professional', 'T'],
    ]),
    codeField(
      [0, 1, 1],
      'non-audio',
      'kind of data',
      [
        [0, 'linear PCM', 'T'],
        [1, 'not linear PCM', 'T'],
      ],
      'non-audio',
    ),
    codeField(
      [0, 2, 1],
      'copy',
      'copying',
      [
        [0, 'prohibited', 'T'],
        [1, 'permitted', 'T'],
      ],
      'copy',
    ),
    codeField(
      [0, 3, 3],
      'emphasis',
      'emphasis',
      [
        [0, 'none', 'T', undefined, 'also what a device sends that fills nothing in'],
        [1, '50/15 us', 'T'],
      ],
      'emphasis',
    ),
    codeField([0, 6, 2], 'mode', 'mode', [[0, 'mode 0', 'T']]),
    codeField([1, 0, 7], 'category', 'category of the source', CATEGORIES, 'category'),
    codeField([1, 7, 1], 'generation', 'generation (L)', [
      [0, 'L = 0', 'T', undefined, 'its sense depends on the category'],
      [1, 'L = 1', 'T', undefined, 'its sense depends on the category'],
    ]),
    numbered([2, 0, 4], 'source-number', 'source number'),
    numbered([2, 4, 4], 'channel-number', 'channel number'),
    codeField(
      [3, 0, 4],
      'rate',
      'sampling rate',
      [
        [0, '44100', 'T', 44_100, 'also what a device sends that fills nothing in'],
        [1, 'not indicated', 'T'],
        [2, '48000', 'T', 48_000],
        [3, '32000', 'T', 32_000],
        [4, '22050', 'T', 22_050],
        [6, '24000', 'T', 24_000],
        [8, '88200', 'T', 88_200],
        [9, '768000', 'T', 768_000],
        [10, '96000', 'T', 96_000],
        [12, '176400', 'T', 176_400],
        [14, '192000', 'T', 192_000],
      ],
      'rate',
    ),
    codeField([3, 4, 2], 'clock', 'clock accuracy', [
      [0, 'level II, 1000 ppm', 'T'],
      [1, 'level I, 50 ppm', 'T'],
      [2, 'level III, variable pitch', 'T'],
    ]),
    plainField('reserved', [3, 6, 2], 'reserved-3', 'reserved'),
    codeField([4, 0, 1], 'longest-word', 'longest word', [
      [0, '20', 'T', 20],
      [1, '24', 'T', 24],
    ]),
    // `number`: bits below the longest word.
    codeField(
      [4, 1, 3],
      'word',
      'word length',
      [
        [0, 'not indicated', 'T'],
        [1, '20 (16)', 'T', -4],
        [2, '22 (18)', 'T', -2],
        [4, '23 (19)', 'T', -1],
        [5, '24 (20)', 'T', 0],
        [6, '21 (17)', 'T', -3],
      ],
      'word',
    ),
    codeField([4, 4, 4], 'original-rate', 'original sampling rate', [
      [0, 'not indicated', 'T'],
      [1, '192000', 'T', 192_000],
      [2, '12000', 'T', 12_000],
      [3, '176400', 'T', 176_400],
      [5, '96000', 'T', 96_000],
      [6, '8000', 'T', 8000],
      [7, '88200', 'T', 88_200],
      [8, '16000', 'T', 16_000],
      [9, '24000', 'T', 24_000],
      [10, '11025', 'T', 11_025],
      [11, '22050', 'T', 22_050],
      [12, '32000', 'T', 32_000],
      [13, '48000', 'T', 48_000],
      [15, '44100', 'T', 44_100],
    ]),
    codeField([5, 0, 2], 'analogue-copying', 'copying by analogue means', [
      [0, 'free', 'T'],
      [1, 'one generation', 'T'],
      [2, 'not used', 'T'],
      [3, 'never', 'T'],
    ]),
    plainField('reserved', [5, 2, 6], 'reserved-5', 'reserved'),
    ...Array.from({ length: 18 }, (_, i) => plainField('reserved', [6 + i, 0, 8], `reserved-${6 + i}`, 'reserved')),
  ],
};

function numbered(place: readonly [number, number, number], key: string, label: string): StatusField {
  return { ...plainField('number', place, key, label), codes: [{ code: 0, words: 'not indicated', certainty: 'T' }] };
}
