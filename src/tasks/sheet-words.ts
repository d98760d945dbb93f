// What belongs at each place of a transfer sheet, in words, and how places and values are named in its errors.
// Not the schema (sheet-schema.ts).
import { BENCH_EXPECTED, benchNameOf } from './sheet-bench-words.ts';

export type SheetPath = readonly PropertyKey[];

/** highest number a tape channel may have; no format comes near */
export const HIGHEST_CHANNEL = 256;

/** What belongs at each place; list positions are written as *. */
export const EXPECTED: Readonly<Record<string, string>> = {
  '': 'a sheet with the keys tape and captures; for a plan tape, bench, wanted and rules; optionally notes',
  tape: 'the tape, as in { id: HB-0417, format: eight-track-8mm, system: 525/60, word: 16, rate: 48000 }',
  'tape.id': 'the name of the tape as text; put digits in quotes',
  'tape.format': 'a format id as `tapeproof formats` lists them',
  'tape.system': '525/60 or 625/50',
  'tape.word': 'the word length, a whole number of bits from 8 to 32',
  'tape.rate': 'a sampling rate, as in 48000, "44.1k" or "4500000/143"',
  captures: 'a list with at least one capture',
  'captures.*': 'a capture, as in { file: p1-north.wav, pass: 1, channels: [1, 2] }',
  'captures.*.file': 'the path of a capture file, relative to the sheet',
  'captures.*.files': 'all files of one take in order, as in [take_1.wav, take_2.wav]',
  'captures.*.files.*': 'the path of a file, relative to the sheet',
  'captures.*.pass': 'the number of the run of the tape, 1 or more',
  'captures.*.deck': 'the name of the deck as text',
  'captures.*.recorder': 'the name of the recorder as text',
  'captures.*.channels': 'the tape channel of each file channel, as in [1, 2]; 0 for one that is not used',
  'captures.*.channels.*': `a tape channel from 1 to ${HIGHEST_CHANNEL}, or 0 for one that is not used`,
  'captures.*.offset': 'the start on the timeline in frames, a whole number',
  'captures.*.starts': 'a word that captures of one pass share which began together, to the sample',
  'captures.*.timecode': 'the file channel, counted from 1, that carries timecode',
  'captures.*.raw': 'how bare samples are stored, as in 48000:2:s24le',
  'captures.*.trailing': 'true, to read audio behind a stated size that is too short',
  'captures.*.segment': 'which stretch of a stream whose mode changes, counted from 1',
  'captures.*.status': 'what the interface said as text: hex as in "04 82 00 02", words, or the path of a log',
  'captures.*.notes': 'text',
  ...BENCH_EXPECTED,
  notes: 'text',
};

/** "tape.word", "pass of capture 2", "capture 2", "the sheet". */
export function nameOf(path: SheetPath): string {
  const [first, index, key] = path;
  if (first !== 'captures' || typeof index !== 'number') return benchNameOf(path) || 'the sheet';
  return `${key === undefined ? '' : `${String(key)} of `}capture ${index + 1}`;
}

export function patternOf(path: SheetPath): string {
  return path.map((part) => (typeof part === 'number' ? '*' : String(part))).join('.');
}

export function knownKeys(path: SheetPath): string[] {
  const prefix = path.length ? `${patternOf(path)}.` : '';
  const own = Object.keys(EXPECTED).filter((key) => key !== '' && key.startsWith(prefix));
  return own.map((key) => key.slice(prefix.length)).filter((key) => !key.includes('.') && key !== '*');
}

export function show(value: unknown): string {
  const text = JSON.stringify(value) ?? String(value);
  return text.length > 60 ? `${text.slice(0, 57)}...` : text;
}
