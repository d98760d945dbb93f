// DV in AVI, type 1 (one interleaved stream) and type 2 (the sound a second time beside it): finds the frames by walking the chunks, so
// that a file without an index or with a wrong one is read to its end. Reads frames, not the second copy of the sound.
// Layout: RIFF lists and chunks; OpenDML files go on in further RIFF AVIX lists. Why not a library: docs/decisions/0016.
import { type Problem, type StopSignal, TapeproofError, throwIfStopped } from '../../base/index.ts';
import type { ByteFile } from '../byte-file.ts';
import { type DifPlace, findStart } from './walk-raw.ts';
import { fourCharacters, wrappedPlace } from './wrapped-place.ts';

const DV_HANDLERS = new Set(['dvsd', 'dvhd', 'dvsl', 'dv25', 'dv50', 'dvcp', 'dvpp', 'dvc ', 'cdvc']);
const LISTS = new Set(['RIFF', 'LIST']);
/** Lists whose inside is walked. */
const OPENED = new Set(['AVI ', 'AVIX', 'movi', 'rec ', 'hdrl', 'strl']);
/** Chunks of an AVI that hold no frames; anything else that is no stream's is damage. */
const KNOWN = new Set([
  'JUNK',
  'idx1',
  'avih',
  'strh',
  'strf',
  'strd',
  'strn',
  'indx',
  'vprp',
  'ISFT',
  'dmlh',
  'IDIT',
  'segm',
]);

export interface AviStreams {
  /** number of the stream that holds DV frames */
  readonly dv: number;
  /** sound beside the frames */
  readonly soundStreams: number;
}

export function isAvi(head: Uint8Array): boolean {
  return fourCharacters(head, 0) === 'RIFF' && fourCharacters(head, 8) === 'AVI ';
}

/** Undefined when none of its streams is DV. */
export async function findAviDv(file: ByteFile): Promise<AviStreams | undefined> {
  let number = -1;
  let dv: number | undefined;
  let soundStreams = 0;
  for await (const { id, at } of walkChunks(file)) {
    if (id === 'movi') break;
    if (id !== 'strh') continue;
    number++;
    const header = await file.view(at + 8, 8);
    const kind = fourCharacters(header, 0);
    if (kind === 'auds') soundStreams++;
    const isDv = DV_HANDLERS.has(fourCharacters(header, 4).toLowerCase());
    if (!isDv || dv !== undefined || !['vids', 'iavs'].includes(kind)) continue;
    dv = number;
  }
  return dv === undefined ? undefined : { dv, soundStreams };
}

/** The file ends before its first list does: some program was broken off, or the copy was. */
export function truncatedAvi(file: ByteFile, head: Uint8Array): Problem[] {
  const said = new DataView(head.buffer, head.byteOffset).getUint32(4, true) + 8;
  if (said <= file.size || said > 0xffffffff) return [];
  const message = 'the file ends before the end that its header states; what is there was read';
  return [
    {
      id: 'dv-wrapper-truncated',
      severity: 'damage',
      message,
      offset: 4,
      expected: `${said} bytes`,
      found: `${file.size}`,
    },
  ];
}

export function notDv(path: string, what: string): TapeproofError {
  return new TapeproofError('unsupported', `${what} without DV`, {
    path,
    expected: 'a stream of DV frames',
    next: 'take the sound out of it with a general tool, and examine that; only DV keeps the tape’s own error codes',
  });
}

/** What lies beside the frames; one note. */
export function soundBeside(streams: number): Problem[] {
  if (streams === 0) return [];
  const message = `the wrapper holds ${streams} ${streams === 1 ? 'stream' : 'streams'} of sound of its own, copied from the frames by some program; the sound inside the frames was read`;
  return [{ id: 'dv-sound-beside', severity: 'note', message }];
}

export async function* walkAvi(file: ByteFile, { dv }: AviStreams, stop?: StopSignal): AsyncGenerator<DifPlace> {
  const number = String(dv).padStart(2, '0');
  let last: DifPlace | undefined;
  for await (const { id, at, bytes, isLost } of walkChunks(file, stop)) {
    if (isLost) yield { at, bytes, head: new Uint8Array(0) };
    else if (id.startsWith(number)) {
      last = await wrappedPlace(file, at + 8, bytes, last);
      yield last;
    }
  }
}

interface AviChunk {
  readonly id: string;
  /** of the chunk's header */
  readonly at: number;
  /** of its body that exist */
  readonly bytes: number;
  /** no chunk: bytes between two that are */
  readonly isLost?: boolean;
}

/** Every chunk in order; a list as itself, then what is in it. */
async function* walkChunks(file: ByteFile, stop?: StopSignal): AsyncGenerator<AviChunk> {
  let at = 0;
  while (at + 8 <= file.size) {
    throwIfStopped(stop);
    const header = await file.view(at, 12);
    const id = fourCharacters(header, 0);
    const size = new DataView(header.buffer, header.byteOffset).getUint32(4, true);
    const bytes = Math.min(size, file.size - at - 8);
    const list = LISTS.has(id) ? fourCharacters(header, 8) : undefined;
    if (list !== undefined) yield { id: list, at, bytes: Math.max(0, bytes - 4) };
    else if (isChunkId(id)) yield { id, at, bytes };
    else {
      const next = await nextFrameChunk(file, at + 1, stop);
      yield { id, at, bytes: next - at, isLost: true };
      at = next;
      continue;
    }
    at += list !== undefined && OPENED.has(list) ? 12 : 8 + bytes + (bytes & 1);
  }
}

/** Stream chunks are two digits and two characters; indexes of a stream are "ix" and two digits. */
function isChunkId(id: string): boolean {
  return KNOWN.has(id) || /^(\d\d[\x20-\x7e]{2}|ix\d\d)$/.test(id);
}

/** The next chunk that holds the beginning of a frame, or the end of the file. */
async function nextFrameChunk(file: ByteFile, from: number, stop?: StopSignal): Promise<number> {
  for (let at = from; ; ) {
    const frame = await findStart(file, at, file.size, stop);
    if (frame >= file.size) return file.size;
    const header = await file.view(frame - 8, 8);
    if (frame - 8 >= from && isChunkId(fourCharacters(header, 0))) return frame - 8;
    at = frame + 1;
  }
}
