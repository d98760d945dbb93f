// The real recordings that are damaged for the score: up to half a minute each of music, speech, percussion and noise. Fetched
// from Debian packages into .cache, never copied into the project. Not for the hours of undamaged sound (tapes.ts).
import { basename, dirname, join } from 'node:path';
import { type MusicPackage, REAL_MUSIC } from '../src/media/testing/music.ts';
import { type Half, halfOf } from './halves.ts';
import { decode, filesBelow, folderOf } from './sox.ts';

export interface Recording {
  readonly name: string;
  readonly half: Half;
  readonly kind: string;
  readonly files: readonly string[];
  readonly channels: number;
  readonly rateHz: number;
  readonly bits: 16 | 24;
  readonly fromSeconds: number;
  /** made softer by so much: quiet takes are rare among published sounds */
  readonly softerDb: number;
}

const SECONDS = 16;

/** All of them, in a fixed order. */
export async function listRecordings(): Promise<Recording[]> {
  const lists = await Promise.all([known(), studio(), orchestra(), drums(), sentences(), telephone()]);
  const all = lists.flat();
  return [...all, ...softer(all)];
}

/** Planes of `bits` width at about the rate: as they are where nothing has to change. */
export function load(recording: Recording, rateHz: number, bits: 16 | 24): Int32Array[] {
  const { files, channels, fromSeconds, softerDb } = recording;
  const isAsItIs = rateHz === recording.rateHz && bits <= recording.bits && softerDb === 0;
  const volume = 0.8 * 10 ** (-softerDb / 20);
  return decode(files, {
    channels,
    bits,
    rateHz: Math.round(rateHz),
    fromSeconds: files.length > 1 ? 0 : fromSeconds,
    seconds: files.length > 1 ? SECONDS / 4 : SECONDS,
    ...(isAsItIs ? {} : { volume }),
  });
}

/** The recordings of the tests: detectors were made while looking at them, so all count as tuning. */
async function known(): Promise<Recording[]> {
  const made: Recording[] = [];
  for (const one of REAL_MUSIC) {
    const files = [join(await folderOf(one.package), one.path)];
    made.push({ ...ONE, ...one, half: 'tuning', files });
  }
  return made;
}

const ONE = { channels: 2, rateHz: 44_100, bits: 16, fromSeconds: 0, softerDb: 0 } as const;

const STUDIO: readonly (readonly [MusicPackage, string, string, 1 | 2])[] = [
  ['csoundqt-examples', 'sample.wav', 'music', 1],
  ['csoundqt-examples', 'SynthPad.wav', 'tonal', 2],
  ['csoundqt-examples', 'Songpan.wav', 'music', 2],
  ['csoundqt-examples', '808loop.wav', 'percussion', 2],
  ['csoundqt-examples', 'AndItsAll.wav', 'speech', 1],
  ['csoundqt-examples', 'BassGuitarC.wav', 'tonal', 1],
  ['csoundqt-examples', 'impulse_big_hall.wav', 'noise', 2],
  ['sonic-pi-samples', 'vinyl_hiss.flac', 'noise', 2],
  ['sonic-pi-samples', 'misc_cineboom.flac', 'music', 2],
  ['sonic-pi-samples', 'loop_safari.flac', 'percussion', 2],
  ['sonic-pi-samples', 'loop_3d_printer.flac', 'noise', 2],
  ['sonic-pi-samples', 'ambi_sauna.flac', 'noise', 2],
  ['sonic-pi-samples', 'loop_compus.flac', 'music', 2],
  ['sonic-pi-samples', 'ambi_lunar_land.flac', 'tonal', 2],
  ['sonic-pi-samples', 'ambi_glass_hum.flac', 'tonal', 2],
  ['sonic-pi-samples', 'loop_garzul.flac', 'music', 2],
  ['sonic-pi-samples', 'bass_voxy_c.flac', 'tonal', 2],
  ['sonic-pi-samples', 'ambi_haunted_hum.flac', 'tonal', 2],
  ['sonic-pi-samples', 'loop_mika.flac', 'percussion', 2],
  ['sonic-pi-samples', 'loop_weirdo.flac', 'music', 2],
];

async function studio(): Promise<Recording[]> {
  const made: Recording[] = [];
  for (const [from, file, kind, channels] of STUDIO) {
    const path = filesBelow(await folderOf(from), [`/${file}`])[0];
    const name = file.replace(/\.\w+$/, '');
    made.push({ ...ONE, name, half: halfOf(name), kind, files: [path], channels });
  }
  return made;
}

/** Orchestral game music, decoded from a lossy source: every third track. */
async function orchestra(): Promise<Recording[]> {
  const files = filesBelow(await folderOf('wesnoth-1.16-music'), ['.ogg']).filter((_, i) => i % 3 === 0);
  return files.map((file) => {
    const name = basename(file, '.ogg');
    return { ...ONE, name, half: halfOf(name), kind: 'orchestra', files: [file], fromSeconds: 20 };
  });
}

/** A few strokes of each drum kit. */
async function drums(): Promise<Recording[]> {
  const files = filesBelow(await folderOf('hydrogen-drumkits'), ['.flac', '.wav', '.aiff']);
  const kits = [...new Set(files.map((file) => dirname(file)))];
  return kits.flatMap((kit) => {
    const own = files.filter((file) => dirname(file) === kit);
    if (own.length < 14) return [];
    const isLong = kit.endsWith('ForzeeStereo');
    const shape = isLong ? ({ channels: 2, rateHz: 48_000, bits: 24 } as const) : ({ channels: 1 } as const);
    const name = basename(kit);
    const stride = Math.ceil(own.length / 16);
    const some = own.filter((_, i) => i % stride === 0);
    return [{ ...ONE, ...shape, name, half: halfOf(name), kind: 'percussion', files: some }];
  });
}

/** Read sentences of one voice, four to a recording. */
async function sentences(): Promise<Recording[]> {
  return quartets(await folderOf('festvox-ru'), 'read', 'speech', 16_000, 62);
}

/** Announcements and music at the bandwidth of a telephone. */
async function telephone(): Promise<Recording[]> {
  const spoken = quartets(await folderOf('asterisk-core-sounds-en-wav'), 'announced', 'speech, telephone', 8000, 120);
  const music = filesBelow(await folderOf('asterisk-moh-opsound-wav'), ['.wav']).map((file) => {
    const name = basename(file, '.wav');
    const rest = { kind: 'music, telephone', files: [file], channels: 1, rateHz: 8000, fromSeconds: 20 };
    return { ...ONE, ...rest, name, half: halfOf(name) };
  });
  return [...spoken, ...music];
}

function quartets(folder: string, label: string, kind: string, rateHz: number, stride: number): Recording[] {
  const files = filesBelow(folder, ['.wav']);
  const made: Recording[] = [];
  for (let i = 0; i + 4 <= files.length; i += stride) {
    const name = `${label}-${basename(files[i], '.wav')}`;
    made.push({ ...ONE, name, half: halfOf(name), kind, files: files.slice(i, i + 4), channels: 1, rateHz });
  }
  return made;
}

/** Every third recording of each half once more, 30 dB and 54 dB down in turn: the whisper of a good converter. */
function softer(all: readonly Recording[]): Recording[] {
  const halves = (['tuning', 'scoring'] as const).map((half) => all.filter((one) => one.half === half));
  return halves
    .flatMap((own) => own.filter((_, i) => i % 3 === 0))
    .map((one, k) => {
      const softerDb = k % 2 === 0 ? 30 : 54;
      return { ...one, name: `${one.name}, ${softerDb} dB softer`, softerDb, kind: `${one.kind}, quiet` };
    });
}
