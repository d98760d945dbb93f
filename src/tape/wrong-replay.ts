// What happens when a tape is played on the wrong deck, at the wrong speed or in the wrong television system, as advice with its certainty
// (formats note, section 13; source keys in docs/sources.md). Not for what a recording shows: that is examine's.
import { derived, type Fact, frozen, memory, trade } from './fact.ts';
import type { TapeFormat } from './format.ts';

export type MisplayKind = 'system' | 'speed' | 'deck' | 'reading' | 'rate';

export interface Misplay {
  readonly kind: MisplayKind;
  /** what is done wrong */
  readonly when: string;
  /** what comes of it, and what helps */
  readonly effect: Fact<string>;
}

interface Row extends Misplay {
  /** families, format ids or beginnings of ids it holds for */
  readonly about: readonly string[];
}

/** In the order of the list; empty where nothing is known. */
export function misplays(format: TapeFormat): readonly Misplay[] {
  const fits = (name: string) => format.family === name || format.id === name || format.id.startsWith(`${name}-`);
  return ROWS.filter(({ about }) => about.some(fits)).map(({ kind, when, effect }) => ({ kind, when, effect }));
}

const EIGHT_MM = ['eight-mm-pcm', 'eight-mm-six-programmes'];
const DV = ['dv', 'dv-8mm'];

const ROWS: readonly Row[] = frozen<Row[]>([
  {
    about: EIGHT_MM,
    kind: 'system',
    when: 'on a deck of the other television system',
    effect: derived(
      'Drum speed and track pitch differ (1798 against 1500 rpm, 20.5 against 34.4 um): no lock, the PCM is muted. A deck for the system of the tape, or for both, is needed.',
      'M',
      'R1 R2',
    ),
  },
  {
    about: EIGHT_MM,
    kind: 'rate',
    when: 'rightly replayed and labelled with the rate of the other system',
    effect: derived('The ratio is 31468.53 to 31250, 1.00699: 12.1 cent off.', 'T'),
  },
  {
    about: EIGHT_MM,
    kind: 'speed',
    when: 'a long-play recording on a deck without long play',
    effect: memory('Tracking fails: silence, or sound in bursts.'),
  },
  {
    about: ['eight-mm-six-programmes'],
    kind: 'deck',
    when: 'on a deck made for pictures',
    effect: memory('Noise on the screen, and silence or only the programme in the normal PCM section.'),
  },
  {
    about: EIGHT_MM,
    kind: 'reading',
    when: 'code words taken for linear samples',
    effect: derived('Loud distortion: the slopes differ by up to 8 to 1. Keep the monitors low.', 'T'),
  },
  {
    about: ['dv-8mm'],
    kind: 'deck',
    when: 'in a deck for analogue 8 mm',
    effect: trade('Noise. An analogue tape in a digital deck plays only where that deck supports it.', 'R14'),
  },
  {
    about: DV,
    kind: 'speed',
    when: 'a long-play recording on a deck that is weak at it',
    effect: memory('Block errors: bursts of the error code 0x8000, track by track.'),
  },
  {
    about: DV,
    kind: 'system',
    when: 'on a deck of the other television system',
    effect: memory('Muted sound and a blank picture.'),
  },
  {
    about: DV,
    kind: 'deck',
    when: 'a professional variant on a consumer deck',
    effect: trade(
      'The track pitch is 18 um and the speed differs: it needs a transport of its own; consumer decks refuse it.',
      'R45',
      {
        note: 'pitch is T; that decks refuse it is M',
      },
    ),
  },
  {
    about: ['dv-525-32k-4ch', 'dv-625-32k-4ch', 'dv-8mm-525-32k-4ch', 'dv-8mm-625-32k-4ch'],
    kind: 'reading',
    when: 'the second pair of a 12-bit recording through a stereo output',
    effect: memory(
      'Decks give out pair 1, pair 2 or a mix, as a menu says: never take the mix. Two passes, or the data stream, bring both pairs.',
    ),
  },
  {
    about: ['dat'],
    kind: 'speed',
    when: 'long-play or wide-track recordings on a deck without it',
    effect: memory(
      'Muted, or the wrong speed of the servo. A 96 kHz recording at double speed does not lock on an ordinary deck.',
    ),
  },
  {
    about: ['dat'],
    kind: 'rate',
    when: 'a 44.1 kHz recording labelled 48 kHz',
    effect: derived('A locked deck does not do it, a wrong label on the file does: 146.7 cent sharp.', 'M'),
  },
  {
    about: ['pcm-adaptor'],
    kind: 'system',
    when: 'a tape of the other television system, or monochrome in place of colour',
    effect: trade('A 625 tape does not decode in a 525 unit; 59.94 against 60 Hz moves the rate by 0.1 %.', 'R34'),
  },
  {
    about: ['pcm-adaptor'],
    kind: 'deck',
    when: 'a 16-bit tape in a unit for 14 bits only',
    effect: memory('Only 14 bits come out, and correction is weaker.'),
  },
  {
    about: ['eight-track-8mm'],
    kind: 'deck',
    when: 'a 24-bit tape in a 16-bit machine',
    effect: memory('Refused, or noise.'),
  },
  {
    about: ['eight-track-svhs'],
    kind: 'deck',
    when: 'in a picture recorder, or in a VHS shell',
    effect: memory('The control track may run; there is no sound.'),
  },
]);
