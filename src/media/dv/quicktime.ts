// DV in QuickTime: the frames by the sample tables of the first DV track, or by search where there are no tables (a recording that was
// broken off). Reads frames, not the tracks of sound beside them. Layout: QuickTime File Format, movie atoms (size, type, body).
// Why not a library: docs/decisions/0016.
import { type StopSignal, TapeproofError, throwIfStopped } from '../../base/index.ts';
import type { ByteFile } from '../byte-file.ts';
import { type DifPlace, walkRaw } from './walk-raw.ts';
import { fourCharacters, wrappedPlace } from './wrapped-place.ts';

const DV_FORMATS = new Set(['dvc ', 'dvcp', 'dvpp', 'dv5n', 'dv5p', 'dvsd', 'dv25', 'dv50']);
const FIRST_ATOMS = new Set(['ftyp', 'moov', 'mdat', 'wide', 'free', 'skip', 'pnot']);
const MOST_ATOMS = 4096;
/** A table of so many entries is no tape: ten days of frames. */
const MOST_ENTRIES = 30_000_000;

interface Atom {
  readonly type: string;
  readonly bodyAt: number;
  readonly end: number;
}

export interface QuickTimeMovie {
  /** the sample tables of the DV track; undefined where the movie has none at all */
  readonly tables: readonly Atom[] | undefined;
  readonly soundTracks: number;
  /** byte where media data begin */
  readonly dataAt: number;
}

export async function isQuickTime(file: ByteFile): Promise<boolean> {
  const head = await file.view(0, 16);
  return head.length === 16 && FIRST_ATOMS.has(fourCharacters(head, 4));
}

/** Undefined when the movie has tracks and none of them is DV. */
export async function findQuickTimeDv(file: ByteFile): Promise<QuickTimeMovie | undefined> {
  const top = await atomsIn(file, 0, file.size);
  const movie = top.find(({ type }) => type === 'moov');
  const dataAt = top.find(({ type }) => type === 'mdat')?.bodyAt ?? 0;
  if (!movie) return { tables: undefined, soundTracks: 0, dataAt };
  let tables: readonly Atom[] | undefined;
  let soundTracks = 0;
  for (const track of (await atomsIn(file, movie.bodyAt, movie.end)).filter(({ type }) => type === 'trak')) {
    const media = await inside(file, track, 'mdia');
    const handler = media && (await inside(file, media, 'hdlr'));
    const kind = handler ? fourCharacters(await file.view(handler.bodyAt + 8, 4), 0) : '';
    if (kind === 'soun') soundTracks++;
    const information = media && (await inside(file, media, 'minf'));
    const own = information && (await inside(file, information, 'stbl'));
    if (kind === 'vide' && own && !tables && (await isDvTable(file, own)))
      tables = await atomsIn(file, own.bodyAt, own.end);
  }
  return tables ? { tables, soundTracks, dataAt } : undefined;
}

export async function* walkQuickTime(
  file: ByteFile,
  { tables, dataAt }: QuickTimeMovie,
  stop?: StopSignal,
): AsyncGenerator<DifPlace> {
  if (!tables) {
    yield* walkRaw(file, dataAt, stop);
    return;
  }
  let last: DifPlace | undefined;
  for await (const { at, bytes } of samplesOf(file, tables, stop)) {
    const exist = Math.max(0, Math.min(bytes, file.size - at));
    last = await wrappedPlace(file, Math.min(at, file.size), exist, last);
    yield last;
  }
}

async function inside(file: ByteFile, parent: Atom, type: string): Promise<Atom | undefined> {
  return (await atomsIn(file, parent.bodyAt, parent.end)).find((atom) => atom.type === type);
}

/** Atoms of [from, to) whose headers can be read; sizes are cut to their parent. */
async function atomsIn(file: ByteFile, from: number, to: number): Promise<Atom[]> {
  const atoms: Atom[] = [];
  for (let at = from; at + 8 <= to && atoms.length < MOST_ATOMS; ) {
    const header = await file.view(at, 16);
    if (header.length < 8) break;
    const view = new DataView(header.buffer, header.byteOffset, header.length);
    const short = view.getUint32(0);
    const isLong = short === 1 && header.length === 16;
    const size = isLong ? Number(view.getBigUint64(8)) : short === 0 ? to - at : short;
    const headerBytes = isLong ? 16 : 8;
    if (size < headerBytes) break;
    atoms.push({ type: fourCharacters(header, 4), bodyAt: at + headerBytes, end: Math.min(to, at + size) });
    at += size;
  }
  return atoms;
}

/** Its description table names a DV format first. */
async function isDvTable(file: ByteFile, table: Atom): Promise<boolean> {
  const description = await inside(file, table, 'stsd');
  return description !== undefined && DV_FORMATS.has(fourCharacters(await file.view(description.bodyAt + 12, 4), 0));
}

interface SamplePlace {
  readonly at: number;
  readonly bytes: number;
}

/** Samples in the order of the track: chunk by chunk, by the run lengths of the sample-to-chunk table. */
async function* samplesOf(
  file: ByteFile,
  tables: readonly Atom[],
  stop: StopSignal | undefined,
): AsyncGenerator<SamplePlace> {
  const sizes = await tableOf(file, tables, 'stsz', 4);
  const isWide = tables.some(({ type }) => type === 'co64');
  const chunks = await tableOf(file, tables, isWide ? 'co64' : 'stco', isWide ? 8 : 4);
  const runs = await tableOf(file, tables, 'stsc', 12);
  let sample = 0;
  let run = 0;
  let sum = 0;
  for (let chunk = 0; chunk < chunks.count && sample < sizes.count; chunk++) {
    throwIfStopped(stop);
    while (run + 1 < runs.count && (await runs.word(run + 1, 0)) <= chunk + 1) run++;
    const inChunk = runs.count === 0 ? 1 : await runs.word(run, 4);
    let at = isWide ? await chunks.long(chunk) : await chunks.word(chunk, 0);
    for (let i = 0; i < inChunk && sample < sizes.count; i++, sample++) {
      const bytes = sizes.fixed || (await sizes.word(sample, 0));
      sum += bytes;
      if (sum > file.size) throw broken(file.path, 'tables that name more bytes than the file has');
      yield { at, bytes };
      at += bytes;
    }
  }
}

interface Table {
  readonly count: number;
  /** of a size table: the one size of all samples, or 0 */
  readonly fixed: number;
  word(entry: number, byte: number): Promise<number>;
  long(entry: number): Promise<number>;
}

async function tableOf(file: ByteFile, tables: readonly Atom[], type: string, width: number): Promise<Table> {
  const atom = tables.find((candidate) => candidate.type === type);
  if (!atom) throw broken(file.path, `the table ${type} is missing`);
  const isSizes = type === 'stsz';
  const head = await file.view(atom.bodyAt, isSizes ? 12 : 8);
  if (head.length < (isSizes ? 12 : 8)) throw broken(file.path, `the table ${type} is cut off`);
  const view = new DataView(head.buffer, head.byteOffset, head.length);
  const fixed = isSizes ? view.getUint32(4) : 0;
  const count = view.getUint32(isSizes ? 8 : 4);
  const from = atom.bodyAt + (isSizes ? 12 : 8);
  if (count > MOST_ENTRIES || (!fixed && from + count * width > atom.end))
    throw broken(file.path, `the table ${type} says ${count} entries, which do not fit`);
  const cached = tableReader(file, from, count * width);
  return {
    count,
    fixed,
    word: async (entry, byte) => (await cached(entry * width + byte, 4)).getUint32(0),
    long: async (entry) => Number((await cached(entry * width, 8)).getBigUint64(0)),
  };
}

const PIECE_BYTES = 65_536;

/** Reads a table in pieces, so that looking at frames between its entries costs no further read. */
function tableReader(file: ByteFile, from: number, bytes: number) {
  let pieceAt = -1;
  let piece = new Uint8Array(0);
  return async (at: number, length: number): Promise<DataView> => {
    if (pieceAt < 0 || at < pieceAt || at + length > pieceAt + piece.length) {
      piece = new Uint8Array(Math.max(0, Math.min(PIECE_BYTES, bytes - at)));
      await file.readInto(piece, from + at);
      pieceAt = at;
    }
    return new DataView(piece.buffer, at - pieceAt, length);
  };
}

function broken(path: string, found: string): TapeproofError {
  return new TapeproofError('input', 'the index of this movie cannot be read', {
    path,
    expected: 'sample tables of a DV track',
    found,
    next: 'copy the DV stream out of it with a general tool, and examine that',
  });
}
