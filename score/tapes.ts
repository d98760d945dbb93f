// Undamaged sound by the hour: whatever is found there is a false alarm. Files of large collections joined into tapes of about
// ten minutes, each half of the recordings for itself, at the rates and in the words and laws of the formats.
import { basename } from 'node:path';
import { type Rate, rate } from '../src/base/index.ts';
import type { MusicPackage } from '../src/media/testing/music.ts';
import { encodeTape } from '../src/simulate/index.ts';
import { findLaw } from '../src/tape/index.ts';
import { type Half, halfOf } from './halves.ts';
import type { Word } from './scenarios.ts';
import { channelsOf, decode, filesBelow, folderOf, secondsOf } from './sox.ts';

export interface Tape {
  readonly name: string;
  readonly half: Half;
  readonly kind: string;
  readonly files: readonly string[];
  readonly channels: 1 | 2;
  readonly isOneShots: boolean;
  readonly word: Word & { readonly rate: Rate };
  /** not counted before in another word */
  readonly isFirst: boolean;
}

interface Collection {
  readonly package: MusicPackage;
  /** the package's own name when left out */
  readonly title?: string;
  readonly kind: string;
  readonly endings: readonly string[];
  readonly channels: 1 | 2;
  readonly words: readonly Tape['word'][];
  /** what must not be torn apart between the halves: the file by itself, or its folder */
  readonly source?: (file: string) => string;
  /** single strokes and words, each with its own attack and end (sox.ts) */
  readonly isOneShots?: boolean;
  /** of files of one channel only */
  readonly isMono?: boolean;
}

const own = (hz: number): Tape['word'] => ({ linearBits: 16, rate: rate(hz) });
const studio: Tape['word'] = { linearBits: 24, rate: rate(48_000) };
const nonlinear: Tape['word'] = { linearBits: 16, rate: rate(32_000), law: findLaw('nonlinear-12') };
const eightMm: Tape['word'] = { linearBits: 10, rate: rate(4_500_000, 143), law: findLaw('eight-mm') };

const COLLECTIONS: readonly Collection[] = [
  {
    package: 'wesnoth-1.16-music',
    kind: 'orchestra (from a lossy source)',
    endings: ['.ogg'],
    channels: 2,
    words: [own(44_100), studio, nonlinear, eightMm],
  },
  {
    package: 'singularity-music',
    kind: 'electronic music (from a lossy source)',
    endings: ['.ogg'],
    channels: 2,
    words: [own(48_000), nonlinear],
  },
  {
    package: 'drascula-music',
    kind: 'orchestra, quiet (from a lossy source)',
    endings: ['.ogg'],
    channels: 2,
    words: [own(44_100), eightMm],
  },
  {
    package: 'planetblupi-music-ogg',
    kind: 'rendered from scores (from a lossy source)',
    endings: ['.ogg'],
    channels: 2,
    words: [own(44_100)],
  },
  {
    package: 'festvox-ru',
    kind: 'speech',
    endings: ['.wav'],
    channels: 1,
    words: [own(16_000), own(32_000), own(44_100), studio, nonlinear, eightMm],
  },
  {
    package: 'asterisk-core-sounds-en-wav',
    kind: 'announcements, telephone band',
    endings: ['.wav'],
    channels: 1,
    words: [own(8000), own(44_100)],
  },
  ...(['es', 'fr', 'it', 'ru'] as const).map((language) => ({
    package: `asterisk-core-sounds-${language}-wav` as const,
    kind: 'announcements, telephone band',
    endings: ['.wav'],
    channels: 1 as const,
    words: [own(8000)],
  })),
  {
    package: 'asterisk-moh-opsound-wav',
    kind: 'music, telephone band',
    endings: ['.wav'],
    channels: 1,
    words: [own(8000), own(44_100)],
  },
  {
    package: 'hydrogen-drumkits',
    kind: 'percussion, some of it synthetic or processed by its makers',
    endings: ['.flac', '.wav', '.aiff'],
    channels: 1,
    words: [own(44_100), studio, nonlinear],
    source: (file) => file.split('/').at(-2) ?? file,
    isOneShots: true,
  },
  {
    package: 'sonic-pi-samples',
    kind: 'studio sounds, some of them synthetic',
    endings: ['.flac'],
    channels: 2,
    words: [own(44_100), studio],
    isOneShots: true,
  },
  {
    package: 'sonic-pi-samples',
    title: 'sonic-pi-samples, mono',
    kind: 'studio sounds, some of them synthetic',
    endings: ['.flac', '.wav'],
    channels: 1,
    words: [own(44_100), studio],
    isOneShots: true,
    isMono: true,
  },
  {
    package: 'alsa-utils',
    kind: 'spoken words, noise',
    endings: ['.wav'],
    channels: 1,
    words: [own(48_000), eightMm],
    isOneShots: true,
  },
  {
    package: 'csoundqt-examples',
    kind: 'studio sounds, some of them synthetic',
    endings: ['.wav', '.aiff'],
    channels: 1,
    words: [own(44_100), studio],
  },
];

const TAPE_SECONDS = 600;

/** Sound that is new first: the same recordings in another word come after it. */
export async function listTapes(): Promise<Tape[]> {
  const tapes = (await Promise.all(COLLECTIONS.map(tapesOf))).flat();
  const again = tapes.filter((tape) => !tape.isFirst);
  // One tape of every word before the rest, so that a run that was stopped has met them all.
  const isEarly = ({ name, half }: Tape) => half === 'scoring' && name.endsWith(' 1');
  return [...tapes.filter((tape) => tape.isFirst), ...again.filter(isEarly), ...again.filter((one) => !isEarly(one))];
}

async function tapesOf(collection: Collection): Promise<Tape[]> {
  const { kind, channels, words, source, isOneShots = false, isMono = false } = collection;
  const name = collection.title ?? collection.package;
  const all = filesBelow(await folderOf(collection.package), collection.endings);
  const files = isMono ? all.filter((file) => channelsOf(file) === 1) : all;
  const seconds = secondsOf(files);
  return (['tuning', 'scoring'] as const).flatMap((half) => {
    const reels = fill(files, seconds, (file) => halfOf(source?.(file) ?? basename(file)) === half);
    return words.flatMap((word, w) =>
      reels.map((reel, k) => {
        const title = `${name} ${wordName(word)} ${half} ${k + 1}`;
        return { name: title, half, kind, files: reel, channels, isOneShots, word, isFirst: w === 0 };
      }),
    );
  });
}

function fill(files: readonly string[], seconds: readonly number[], isMine: (file: string) => boolean): string[][] {
  const reels: string[][] = [];
  let room = 0;
  for (const [i, file] of files.entries()) {
    if (!isMine(file) || seconds[i] === 0) continue;
    if (room <= 0) {
      reels.push([]);
      room = TAPE_SECONDS;
    }
    reels.at(-1)?.push(file);
    room -= seconds[i];
  }
  return reels;
}

function wordName({ rate: { num, den }, linearBits, law }: Tape['word']): string {
  return `${Math.round(num / den)} Hz ${law ? law.id : `${linearBits} bit`}`;
}

export interface Sound {
  readonly planes: readonly Int32Array[];
  readonly bits: number;
  readonly rate: Rate;
}

/** As it comes from the deck. Resampled files are first made a little softer, so that nothing is clipped. */
export function soundOf({ files, channels, isOneShots, word }: Tape): Sound {
  const hz = Math.round(word.rate.num / word.rate.den);
  const isPlain = word.linearBits === 16 && word.law === undefined;
  const volume = isPlain ? {} : { volume: 0.8 };
  const planes = decode(files, { channels, bits: isPlain ? 16 : 24, rateHz: hz, isOneShots, ...volume });
  if (isPlain) return { planes, bits: 16, rate: word.rate };
  const outputBits = Math.max(16, word.linearBits);
  const { linearBits: wordBits, law, rate: at } = word;
  return encodeTape({ planes, bits: 24, rate: at }, { rate: at, wordBits, outputBits, law, shorten: 'round' });
}
