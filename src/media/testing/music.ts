// Real recordings for tests, fetched from Debian packages into <repository>/.cache/music and never copied into the project.
// Not for synthetic signals and not shipped.
import { execFile } from 'node:child_process';
import { existsSync } from 'node:fs';
import { mkdir, mkdtemp, readdir, rename, rm, stat } from 'node:fs/promises';
import { join } from 'node:path';
import { promisify } from 'node:util';
import { findTool, missing, needTool, REPOSITORY, type Skipping } from './tools.ts';

const run = promisify(execFile);

export type MusicPackage =
  | 'sonic-pi-samples'
  | 'csoundqt-examples'
  | 'alsa-utils'
  // large ones, for `npm run score -- --large` only
  | 'hydrogen-drumkits'
  | 'festvox-ru'
  | 'wesnoth-1.16-music'
  | 'singularity-music'
  | 'drascula-music'
  | 'planetblupi-music-ogg'
  | 'asterisk-moh-opsound-wav'
  | `asterisk-core-sounds-${'en' | 'es' | 'fr' | 'it' | 'ru'}-wav`;

export interface Recording {
  readonly name: string;
  readonly package: MusicPackage;
  /** inside the unpacked package */
  readonly path: string;
  readonly kind: 'music' | 'speech' | 'percussion' | 'ambience';
  readonly rateHz: number;
  readonly channels: number;
  readonly bits: 16 | 24;
}

const SONIC = 'usr/share/sonic-pi/samples';
const CSOUND = 'usr/share/csoundqt/Examples/SourceMaterials';
const ALSA = 'usr/share/sounds/alsa';

/** Licences: sonic-pi-samples mostly CC0, csoundqt-examples LGPL-2.1+, alsa-utils GPL-2 (each package's copyright file). */
export const REAL_MUSIC: readonly Recording[] = [
  {
    name: 'guitar',
    package: 'csoundqt-examples',
    path: `${CSOUND}/ClassicalGuitar.wav`,
    kind: 'music',
    rateHz: 44_100,
    channels: 2,
    bits: 16,
  },
  {
    name: 'violins',
    package: 'csoundqt-examples',
    path: `${CSOUND}/violins.wav`,
    kind: 'music',
    rateHz: 44_100,
    channels: 2,
    bits: 16,
  },
  {
    name: 'choir',
    package: 'csoundqt-examples',
    path: `${CSOUND}/choir.wav`,
    kind: 'music',
    rateHz: 44_100,
    channels: 2,
    bits: 16,
  },
  {
    name: 'flute',
    package: 'csoundqt-examples',
    path: `${CSOUND}/flute.wav`,
    kind: 'music',
    rateHz: 44_100,
    channels: 2,
    bits: 16,
  },
  {
    name: 'viola',
    package: 'csoundqt-examples',
    path: `${CSOUND}/BratscheMono.wav`,
    kind: 'music',
    rateHz: 44_100,
    channels: 1,
    bits: 24,
  },
  {
    name: 'fox',
    package: 'csoundqt-examples',
    path: `${CSOUND}/fox.wav`,
    kind: 'speech',
    rateHz: 44_100,
    channels: 1,
    bits: 16,
  },
  {
    name: 'seashore',
    package: 'csoundqt-examples',
    path: `${CSOUND}/Seashore.wav`,
    kind: 'ambience',
    rateHz: 44_100,
    channels: 2,
    bits: 16,
  },
  {
    name: 'piano',
    package: 'sonic-pi-samples',
    path: `${SONIC}/ambi_piano.flac`,
    kind: 'music',
    rateHz: 44_100,
    channels: 2,
    bits: 16,
  },
  {
    name: 'electric-guitar',
    package: 'sonic-pi-samples',
    path: `${SONIC}/guit_em9.flac`,
    kind: 'music',
    rateHz: 44_100,
    channels: 2,
    bits: 16,
  },
  {
    name: 'tabla',
    package: 'sonic-pi-samples',
    path: `${SONIC}/loop_tabla.flac`,
    kind: 'percussion',
    rateHz: 44_100,
    channels: 2,
    bits: 16,
  },
  {
    name: 'drums',
    package: 'sonic-pi-samples',
    path: `${SONIC}/loop_amen_full.flac`,
    kind: 'percussion',
    rateHz: 44_100,
    channels: 2,
    bits: 16,
  },
  {
    name: 'bell',
    package: 'sonic-pi-samples',
    path: `${SONIC}/perc_bell.flac`,
    kind: 'percussion',
    rateHz: 44_100,
    channels: 2,
    bits: 16,
  },
  {
    name: 'announcement-front',
    package: 'alsa-utils',
    path: `${ALSA}/Front_Center.wav`,
    kind: 'speech',
    rateHz: 48_000,
    channels: 1,
    bits: 16,
  },
  {
    name: 'announcement-rear',
    package: 'alsa-utils',
    path: `${ALSA}/Rear_Right.wav`,
    kind: 'speech',
    rateHz: 48_000,
    channels: 1,
    bits: 16,
  },
];

/** The unpacked package, fetched on first need; undefined when it is neither there nor to be had. */
export async function musicFolder(name: MusicPackage): Promise<string | undefined> {
  const folder = join(REPOSITORY, '.cache/music', name);
  if (existsSync(folder)) return folder;
  await mkdir(join(folder, '..'), { recursive: true });
  const lock = `${folder}.lock`;
  if (!(await takeLock(lock))) return waitFor(folder, lock);
  try {
    return existsSync(folder) ? folder : await fetchPackage(name, folder);
  } finally {
    await rm(lock, { recursive: true, force: true });
  }
}

async function takeLock(lock: string): Promise<boolean> {
  const age = await stat(lock).then(
    (found) => Date.now() - found.mtimeMs,
    () => 0,
  );
  if (age > LOCK_STALE_MS) await rm(lock, { recursive: true, force: true });
  return mkdir(lock).then(
    () => true,
    () => false,
  );
}

const LOCK_STALE_MS = 300_000;

/** Another worker fetches the package at this moment. */
async function waitFor(folder: string, lock: string): Promise<string | undefined> {
  while (existsSync(lock)) await new Promise((done) => setTimeout(done, 200));
  return existsSync(folder) ? folder : undefined;
}

/** Unpacks beside the target and renames, so that a half-unpacked tree is never taken for a whole one. */
async function fetchPackage(name: MusicPackage, folder: string): Promise<string | undefined> {
  if (!findTool('apt-get') || !findTool('dpkg')) return undefined;
  const work = await mkdtemp(`${folder}.work-`);
  try {
    await run('apt-get', ['-o', 'DPkg::Lock::Timeout=400', '-q', 'download', name], { cwd: work });
    const deb = (await readdir(work)).find((file) => file.endsWith('.deb'));
    if (!deb) return undefined;
    await run('dpkg', ['-x', join(work, deb), join(work, 'tree')]);
    await rename(join(work, 'tree'), folder);
    return folder;
  } catch {
    return undefined;
  } finally {
    await rm(work, { recursive: true, force: true });
  }
}

/** Path of one of `REAL_MUSIC` by name, or the test is skipped with the reason (fails under CI=true). */
export async function needMusic(context: Skipping, name: string): Promise<string> {
  const recording = REAL_MUSIC.find((one) => one.name === name);
  if (!recording) throw new Error(`no recording named ${name}`);
  needTool(context, 'sox');
  const folder = await musicFolder(recording.package);
  return folder ? join(folder, recording.path) : missing(context, `package ${recording.package} cannot be fetched`);
}

export interface LoadedMusic {
  readonly planes: Int32Array[];
  readonly bits: 16 | 24;
  readonly rateHz: number;
}

/**
 * Decodes a recording with sox: 24 bits where the source has more than 16, otherwise 16. Never dithers. Resamples only
 * when `rateHz` differs, guarding against clipping. `channels` repeats source channels in turn, or takes the first ones.
 */
export async function loadMusic(
  path: string,
  options: { rateHz?: number; channels?: number } = {},
): Promise<LoadedMusic> {
  const [precision, sourceHz, sourceChannels] = await Promise.all(
    ['-p', '-r', '-c'].map((flag) => soxInfo(path, flag)),
  );
  const bits = precision > 16 ? 24 : 16;
  const rateHz = options.rateHz ?? sourceHz;
  const channels = options.channels ?? sourceChannels;
  const remix = Array.from({ length: channels }, (_, c) => `${(c % sourceChannels) + 1}`);
  const effects = [...(rateHz === sourceHz ? [] : ['rate', '-v', `${rateHz}`]), 'remix', ...remix];
  const format = ['-t', 'raw', '-e', 'signed-integer', '-b', `${bits}`, '-L', '-'];
  const asBytes = { encoding: 'buffer', maxBuffer: 2 ** 30 } as const;
  const { stdout } = await run('sox', ['-D', '-G', path, ...format, ...effects], asBytes);
  return { planes: planesOf(stdout, channels, bits), bits, rateHz };
}

async function soxInfo(path: string, flag: string): Promise<number> {
  return Number((await run('sox', ['--info', flag, path])).stdout);
}

function planesOf(raw: Buffer, channels: number, bits: 16 | 24): Int32Array[] {
  const width = bits / 8;
  const frames = raw.length / width / channels;
  return Array.from({ length: channels }, (_, c) =>
    Int32Array.from({ length: frames }, (_, i) => raw.readIntLE((i * channels + c) * width, width)),
  );
}
