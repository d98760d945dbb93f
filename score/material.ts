// Real recordings for the score, as integer planes. Fetched from Debian packages into .cache, never copied into the project.
import { execFileSync } from 'node:child_process';
import { readdirSync } from 'node:fs';
import { join } from 'node:path';
import { loadMusic, musicFolder, REAL_MUSIC } from '../src/media/testing/music.ts';

export interface Material {
  readonly name: string;
  readonly kind: string;
  readonly rateHz: number;
  readonly bits: number;
  readonly planes: readonly Int32Array[];
}

export async function loadMaterial(): Promise<Material[]> {
  const loaded: Material[] = [];
  for (const recording of REAL_MUSIC) {
    const folder = await folderOf(recording.package);
    const { planes, bits } = await loadMusic(join(folder, recording.path));
    loaded.push({ name: recording.name, kind: recording.kind, rateHz: recording.rateHz, bits, planes });
  }
  return loaded;
}

interface Collection {
  readonly package: Parameters<typeof musicFolder>[0];
  readonly kind: string;
  readonly ending: string;
  /** sampling rates it is played at; resampled by sox where it is not its own */
  readonly ratesHz: readonly number[];
  readonly bits: 16 | 24;
  readonly channels: 1 | 2;
}

/** Large sets; short files are joined into tapes of about ten minutes, as a tape holds them. */
const COLLECTIONS: readonly Collection[] = [
  {
    package: 'festvox-ru',
    kind: 'speech',
    ending: '.wav',
    ratesHz: [16_000, 32_000, 44_100, 48_000],
    bits: 16,
    channels: 1,
  },
  {
    package: 'wesnoth-1.16-music',
    kind: 'orchestra (from a lossy source)',
    ending: '.ogg',
    ratesHz: [44_100],
    bits: 16,
    channels: 2,
  },
  {
    package: 'asterisk-moh-opsound-wav',
    kind: 'music, telephone band',
    ending: '.wav',
    ratesHz: [8000],
    bits: 16,
    channels: 1,
  },
  {
    package: 'asterisk-core-sounds-en-wav',
    kind: 'speech, telephone band',
    ending: '.wav',
    ratesHz: [8000],
    bits: 16,
    channels: 1,
  },
  { package: 'hydrogen-drumkits', kind: 'percussion', ending: '.flac', ratesHz: [48_000], bits: 24, channels: 1 },
];

const TAPE_SECONDS = 600;

/** One tape after the other, so that memory holds one. */
export async function* largeMaterial(): AsyncGenerator<Material> {
  for (const collection of COLLECTIONS) {
    const files = filesBelow(await folderOf(collection.package), collection.ending);
    for (const rateHz of collection.ratesHz) {
      let tape: Int32Array[] = [];
      let count = 0;
      for (const file of files) {
        tape = append(tape, decode(file, rateHz, collection));
        if (tape[0].length < TAPE_SECONDS * rateHz) continue;
        yield { ...named(collection, rateHz, ++count), planes: tape };
        tape = [];
      }
      if (tape.length > 0 && tape[0].length > rateHz) yield { ...named(collection, rateHz, ++count), planes: tape };
    }
  }
}

function named({ package: name, kind, bits }: Collection, rateHz: number, count: number) {
  return { name: `${name} ${rateHz} Hz, tape ${count}`, kind, rateHz, bits };
}

async function folderOf(name: Parameters<typeof musicFolder>[0]): Promise<string> {
  const folder = await musicFolder(name);
  if (folder === undefined) throw new Error(`${name} cannot be fetched: no apt-get here?`);
  return folder;
}

function filesBelow(folder: string, ending: string): string[] {
  return readdirSync(folder, { recursive: true, encoding: 'utf8' })
    .filter((file) => file.endsWith(ending))
    .sort()
    .map((file) => join(folder, file));
}

/** `-G`: sox makes room where resampling would clip. Files with fewer channels than wanted are left out. */
function decode(file: string, rateHz: number, { bits, channels }: Collection): Int32Array[] {
  const args = [
    '-D',
    '-G',
    file,
    '-t',
    'raw',
    '-e',
    'signed-integer',
    '-b',
    '32',
    '-L',
    '-',
    'rate',
    '-v',
    `${rateHz}`,
  ];
  const remix = channels === 1 ? ['remix', '1'] : ['remix', '1', '2'];
  const raw = soxOrNothing([...args, ...remix]) ?? Buffer.alloc(0);
  const width = 4 * channels;
  const words = new Int32Array(raw.buffer.slice(raw.byteOffset, raw.byteOffset + raw.length - (raw.length % width)));
  return Array.from({ length: channels }, (_, c) =>
    Int32Array.from({ length: words.length / channels }, (_, i) => words[channels * i + c] >> (32 - bits)),
  );
}

function soxOrNothing(args: readonly string[]): Buffer | undefined {
  try {
    return execFileSync('sox', args, { maxBuffer: 2 ** 30, stdio: ['ignore', 'pipe', 'ignore'] });
  } catch {
    return undefined;
  }
}

function append(tape: readonly Int32Array[], planes: readonly Int32Array[]): Int32Array[] {
  if (tape.length === 0) return [...planes];
  return tape.map((plane, c) => {
    const joined = new Int32Array(plane.length + planes[c].length);
    joined.set(plane);
    joined.set(planes[c], plane.length);
    return joined;
  });
}
