// Where one programme of a recording ends and the next begins, as proposals: silence, recording starts, jumps of the timecode, changes of level and
// spectrum. Every proposal says what it rests on and how sure it is; a person decides. Not a detector of losses, and not run by `examine`.
import { type Block, type FrameInfo, rateHz } from '../../base/index.ts';
import { readTimecode, type TimecodeSummary, timecodeSummary, WordList } from '../../signal/index.ts';
import { TimecodeWatch } from '../timecode/timecode-watch.ts';
import { findChanges } from './find-changes.ts';
import { findGaps, type Gap } from './find-gaps.ts';
import { LevelTracks } from './level-track.ts';

/** sure: it can hardly be anything else. likely: proposed as a cut. possible: told, and not cut unless a person says so. */
export type Sureness = 'sure' | 'likely' | 'possible';

export interface Boundary {
  /** frame at which the next programme begins */
  readonly frame: number;
  readonly sureness: Sureness;
  /** in words with figures */
  readonly why: string;
}

export interface ProgrammeSettings {
  /** shortest gap of noise, in seconds */
  readonly gapSeconds: number;
}

export interface FoundProgrammes {
  /** per set of channels, in order of time */
  readonly boundaries: readonly (readonly Boundary[])[];
  /** 1-based channels that carry timecode: left out of what is listened to */
  readonly codeChannels: readonly number[];
}

/** Proposals nearer than this are one: the surer, or the earlier to be exact about its place. */
const SAME_SECONDS = 2;
/** Nearer to an end than this there is a head or a tail, hardly a programme. */
const END_SECONDS = 3;

/** State with a life: push all blocks in order, finish once. */
export class ProgrammeFinder {
  readonly #info: FrameInfo;
  readonly #settings: ProgrammeSettings;
  readonly #levels: LevelTracks;
  readonly #words: WordList[];
  readonly #watches: TimecodeWatch[];

  constructor(info: FrameInfo, settings: ProgrammeSettings) {
    this.#info = info;
    this.#settings = settings;
    this.#levels = new LevelTracks(info);
    this.#words = Array.from({ length: info.channels }, () => new WordList());
    this.#watches = this.#words.map((list) => new TimecodeWatch(rateHz(info.rate), (word) => list.add(word)));
  }

  push(block: Block): void {
    this.#levels.push(block);
    for (const [c, watch] of this.#watches.entries()) watch.push(block.planes[c]);
  }

  /** `sets`: 1-based channels that hold programmes together; their boundaries are told apart from those of other sets. `known`: what the tape
   * says itself, of all of them. */
  finish(sets: readonly (readonly number[])[], known: readonly Boundary[] = []): FoundProgrammes {
    this.#levels.finish();
    const codes = this.#codes();
    const jumps = codes.flatMap(({ code }) => this.#jumps(code));
    const codeChannels = codes.map(({ channel }) => channel);
    const boundaries = sets.map((channels) => {
      const heard = channels.filter((channel) => !codeChannels.includes(channel));
      const found = heard.length ? this.#listen(heard) : [];
      return merged([...known, ...jumps, ...found], SAME_SECONDS * rateHz(this.#info.rate));
    });
    return { boundaries, codeChannels };
  }

  #codes(): { channel: number; code: TimecodeSummary }[] {
    const hz = rateHz(this.#info.rate);
    return this.#watches.flatMap((watch, c) => {
      watch.finish();
      const reading = readTimecode(this.#words[c], hz, this.#info.frames);
      return reading ? [{ channel: c + 1, code: timecodeSummary(reading, hz) }] : [];
    });
  }

  #jumps({ jumps }: TimecodeSummary): Boundary[] {
    return jumps
      .filter(({ kind }) => kind === 'jump')
      .map(({ at, from, to }) => ({
        frame: Math.max(0, Math.min(this.#info.frames - 1, Math.round(at))),
        sureness: 'sure',
        why: `timecode jumps from ${from} to ${to}`,
      }));
  }

  #listen(channels: readonly number[]): Boundary[] {
    const { hopFrames } = this.#levels;
    const seconds = (hops: number) => (hops * hopFrames) / rateHz(this.#info.rate);
    const track = this.#levels.together(channels.map((channel) => channel - 1));
    const fewest = Math.ceil((this.#settings.gapSeconds * rateHz(this.#info.rate)) / hopFrames);
    const gaps = findGaps(track, fewest);
    const changes = findChanges(track, LevelTracks.hopsPerStep);
    const at = (hop: number) => Math.min(this.#info.frames - 1, hop * hopFrames);
    return [
      ...gaps.map((gap): Boundary => {
        const toEnd = Math.min(seconds(gap.boundary), seconds(this.#levels.hops - gap.boundary));
        const { sureness, why } = judge(gap, seconds);
        return { frame: at(gap.boundary), sureness: toEnd < END_SECONDS ? 'possible' : sureness, why };
      }),
      ...changes.map(({ hop, why }): Boundary => ({ frame: at(hop), sureness: 'possible', why })),
    ];
  }
}

/** Choices, from what recorders leave between recordings; a pause in the music may look the same, which is why a person decides. */
function judge(gap: Gap, seconds: (hops: number) => number): Pick<Boundary, 'sureness' | 'why'> {
  const length = seconds(gap.end - gap.start);
  const silence = seconds(gap.silentHops);
  const below = gap.besideDb - gap.levelDb;
  if (gap.kind === 'digital silence') {
    const sureness = silence >= 0.5 ? 'sure' : length >= 1 ? 'likely' : 'possible';
    return { sureness, why: `digital silence of ${silence.toFixed(2)} s in a gap of ${length.toFixed(2)} s` };
  }
  const why = `gap of ${length.toFixed(2)} s, ${Math.round(below)} dB below the sound on both sides, ${gap.kind}`;
  const isStep = gap.kind === 'a step in the noise';
  const isLikely = length >= 2.5 || (length >= 1.5 && (isStep || below >= 40));
  return { sureness: isLikely ? 'likely' : 'possible', why };
}

const RANK: Readonly<Record<Sureness, number>> = { sure: 0, likely: 1, possible: 2 };

function merged(boundaries: readonly Boundary[], sameFrames: number): Boundary[] {
  const bySureness = [...boundaries].sort((a, b) => RANK[a.sureness] - RANK[b.sureness] || a.frame - b.frame);
  const kept: Boundary[] = [];
  for (const boundary of bySureness) {
    if (boundary.frame <= 0 || kept.some(({ frame }) => Math.abs(frame - boundary.frame) < sameFrames)) continue;
    kept.push(boundary);
  }
  return kept.sort((a, b) => a.frame - b.frame);
}
