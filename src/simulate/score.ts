// What the invented concert plays: dynamics over time, chords, and the notes of each part. Not for how it sounds (instruments.ts).
import type { Random } from '../signal/index.ts';
import { bell, bowed, type Instrument, type Note, percussion, pluck, syllable, voice } from './instruments.ts';

export type Part = 'low strings' | 'high strings' | 'voice' | 'plucked' | 'harp' | 'bells' | 'percussion' | 'speaker';

export const INSTRUMENTS: Readonly<Record<Part, Instrument>> = {
  'low strings': bowed,
  'high strings': bowed,
  voice,
  plucked: pluck,
  harp: pluck,
  bells: bell,
  percussion,
  speaker: syllable,
};

/** Share of the piece and level there in dB: pause, crescendo, general pause, a quiet part, a second rise, the end. */
const DYNAMICS = [
  [0, -90],
  [0.03, -90],
  [0.031, -40],
  [0.3, -6],
  [0.42, -2],
  [0.421, -90],
  [0.47, -90],
  [0.471, -36],
  [0.68, -32],
  [0.72, -12],
  [0.94, 0],
  [0.941, -90],
  [1, -90],
] as const;

/** Longer programmes repeat the curve every minute. */
const PIECE_SECONDS = 60;

/** Amplitude of the ensemble at a time, 0 in pauses. */
export function dynamicsAt(seconds: number, totalSeconds: number): number {
  const piece = Math.min(PIECE_SECONDS, totalSeconds);
  const at = (seconds % piece) / piece;
  const k = DYNAMICS.findIndex(([share]) => share > at);
  const [share, level] = DYNAMICS[k - 1];
  const [nextShare, nextLevel] = DYNAMICS[k];
  const db = level + ((nextLevel - level) * (at - share)) / (nextShare - share);
  return db < -60 ? 0 : 10 ** (db / 20);
}

/** Semitones above the lowest A of a piano; one chord per two bars. */
const CHORDS = [
  [0, 3, 7, 12],
  [5, 8, 12, 15],
  [-2, 2, 5, 10],
  [3, 7, 10, 14],
] as const;

const hzOf = (semitones: number, octave: number) => 27.5 * 2 ** (octave + semitones / 12);

export interface Timing {
  readonly rateHz: number;
  readonly seconds: number;
  readonly beatSeconds: number;
}

/** The notes of one part over the whole programme, in order. */
export function notesOf(part: Part, timing: Timing, random: Random): Note[] {
  if (part === 'speaker') return speech(timing, random);
  const notes: Note[] = [];
  const [step, chance, count] = RHYTHM[part];
  const beats = timing.seconds / timing.beatSeconds;
  for (let beat = 0; beat < beats; beat += step) {
    for (let k = 0; k < count; k++) {
      if (random.uniform() < chance) pushNote(notes, noteOf(part, beat, step, timing, random));
    }
  }
  return notes;
}

/** Beats between attacks, chance of each, notes at once. */
const RHYTHM: Readonly<Record<Exclude<Part, 'speaker'>, readonly [number, number, number]>> = {
  'low strings': [4, 1, 2],
  'high strings': [2, 0.9, 2],
  voice: [1.5, 0.8, 1],
  plucked: [0.5, 0.8, 1],
  harp: [1, 0.7, 3],
  bells: [3, 0.8, 1],
  percussion: [0.5, 0.75, 1],
};

const OCTAVES: Readonly<Record<Exclude<Part, 'speaker' | 'percussion'>, readonly [number, number]>> = {
  'low strings': [1, 1],
  'high strings': [3, 2],
  voice: [3, 1],
  plucked: [2, 2],
  harp: [2, 3],
  bells: [4, 2],
};

function noteOf(part: Exclude<Part, 'speaker'>, beat: number, step: number, timing: Timing, random: Random): Note {
  const chord = CHORDS[Math.floor(beat / 8) % CHORDS.length];
  const [octave, spread] = part === 'percussion' ? [0, 1] : OCTAVES[part];
  const pitched = hzOf(chord[random.integer(chord.length)], octave + random.integer(spread));
  const hz = part === 'percussion' ? (random.uniform() < 0.4 ? 200 : 6000) : pitched;
  const from = beat * timing.beatSeconds + 0.012 * random.uniform();
  const accent = 0.7 + 0.3 * random.uniform();
  return noteAt(from, step * timing.beatSeconds * 1.05, hz, accent, timing);
}

function noteAt(from: number, seconds: number, hz: number, accent: number, timing: Timing): Note {
  return {
    start: Math.round(from * timing.rateHz),
    frames: Math.round(seconds * timing.rateHz),
    hz,
    from: accent * dynamicsAt(from, timing.seconds),
    to: accent * dynamicsAt(from + seconds, timing.seconds),
  };
}

function pushNote(notes: Note[], note: Note): void {
  if (note.from > 0) notes.push(note);
}

/** Syllables in words in sentences; the speaker follows the pauses but hardly the dynamics. */
function speech(timing: Timing, random: Random): Note[] {
  const notes: Note[] = [];
  for (let at = 0.2; at < timing.seconds; ) {
    const seconds = 0.11 + 0.16 * random.uniform();
    const note = noteAt(at, seconds, 95 + 45 * random.uniform(), 1, timing);
    if (note.from > 0) notes.push({ ...note, from: 0.5 + 0.5 * Math.min(1, 4 * note.from), to: 1 });
    const pause = random.integer(12);
    at += seconds + (pause === 0 ? 0.7 : pause < 4 ? 0.12 : 0.01);
  }
  return notes;
}
