// Watches every frame of a pass for what the tape says besides samples, and tells it at the end. One for each pass.
import { type Problem, rate, rateHz } from '../../base/index.ts';
import type { CarrierEvent, CarrierReport } from '../carrier.ts';
import { WITHOUT_SOUND } from '../framed/frame-table.ts';
import type { FrameBytes, FrameWatch } from '../framed/framed-file.ts';
import { LabelRuns } from '../framed/label-runs.ts';
import { type FramePlace, LossBook } from '../framed/loss-book.ts';
import { RepeatedFrames } from '../framed/repeated-frames.ts';
import type { FrameDecoder } from './decode-frame.ts';
import { parseHeader } from './dif-identity.ts';
import type { DvFacts, DvTrueRate } from './dv-facts.ts';
import { FlagCounts } from './flag-counts.ts';
import type { DvSegment } from './frame-index.ts';
import { CLOCK, DATE, PackVote, TIMECODE } from './pack-vote.ts';
import { Recordings } from './recordings.ts';

import { clockOf, dateOf, frameNumberOf, secondsOfTape, timecodeOf, timecodeText } from './tape-time.ts';

export class DvReporter implements FrameWatch {
  readonly #segment: DvSegment;
  readonly #channels: number;
  readonly #decoder: FrameDecoder;
  readonly #lines: 525 | 625;
  readonly #packs = new PackVote();
  readonly #losses: LossBook;
  readonly #flags: FlagCounts;
  readonly #timecodes: LabelRuns;
  readonly #recordings: Recordings;
  readonly #repeated = new RepeatedFrames();
  readonly #speeds: CarrierEvent[] = [];
  /** frames whose packs were read, their samples, and the fewest and most of one */
  readonly #counted = { frames: 0, samples: 0, fewest: Number.POSITIVE_INFINITY, most: 0 };
  #application = 0;

  /** `decoder`: the one that decodes the frames of the pass. */
  constructor(segment: DvSegment, channels: number, decoder: FrameDecoder) {
    const { system, difChannels } = segment.mode;
    this.#segment = segment;
    this.#channels = channels;
    this.#decoder = decoder;
    this.#lines = system.id === '525/60' ? 525 : 625;
    this.#losses = new LossBook(channels, system.sequences * difChannels);
    this.#flags = new FlagCounts(system);
    this.#timecodes = new LabelRuns(this.#lines === 525 ? 30 : 25);
    this.#recordings = new Recordings(rateHz(system.frameRate));
  }

  /** Frames in order, each once. */
  frame(f: number, bytes: FrameBytes, planes: readonly Int32Array[]): void {
    const { table } = this.#segment;
    const place = { frame: f, start: table.start(f), samples: table.samplesOf(f) };
    const isWithoutSound = (table.flags(f) & WITHOUT_SOUND) !== 0;
    for (const [c, { hasAny, missing, codes }] of this.#decoder.tallies.slice(0, this.#channels).entries()) {
      if (!hasAny) continue;
      this.#losses.add(place, c, isWithoutSound ? 'no-sound' : 'missing-data', missing);
      this.#losses.add(place, c, 'error-code', codes);
    }
    if (!isWithoutSound) this.#count(place.samples);
    this.#packsOf(place, bytes, planes, isWithoutSound);
  }

  problems(): Problem[] {
    const problems: Problem[] = [];
    const tell = (id: string, frames: number, severity: Problem['severity'], message: string, next?: string) => {
      if (frames > 0) problems.push({ id, severity, message: `${message}: ${frames}`, ...(next ? { next } : {}) });
    };
    const again = 'another read of the tape may have them';
    tell(
      'dv-frames-lost',
      this.#timecodes.missing,
      'damage',
      'frames of the tape that are missing, by its time code',
      again,
    );
    tell(
      'dv-frames-repeated',
      this.#repeated.count,
      'damage',
      'frames that hold the sound of the frame before them',
      again,
    );
    tell('dv-other-speed', this.#flags.otherSpeed, 'warning', 'frames that were played at another speed or backwards');
    return problems;
  }

  report(): CarrierReport {
    const events = [
      ...this.#timecodes.events(),
      ...this.#recordings.events(),
      ...this.#repeated.events(),
      ...this.#speeds,
    ].sort((a, b) => a.start - b.start || a.kind.localeCompare(b.kind));
    return { losses: this.#losses.finish(), events, facts: [this.#facts()] };
  }

  #count(samples: number): void {
    const counted = this.#counted;
    counted.frames++;
    counted.samples += samples;
    counted.fewest = Math.min(counted.fewest, samples);
    counted.most = Math.max(counted.most, samples);
  }

  #packsOf(place: FramePlace, bytes: FrameBytes, planes: readonly Int32Array[], isWithoutSound: boolean): void {
    const { system } = this.#segment.mode;
    const packs = this.#packs;
    packs.scan(bytes, system);
    this.#application = parseHeader(bytes.bytes, bytes.at)?.application ?? this.#application;
    const { isRecordingStart, isOtherSpeed } = this.#flags.add(packs, this.#application);
    const timecode = timecodeOf(packs.winner(TIMECODE) ?? 0xffffffff, this.#lines);
    const date = dateOf(packs.winner(DATE) ?? 0xffffffff);
    const time = clockOf(packs.winner(CLOCK) ?? 0xffffffff);
    const clockSeconds = date && time ? secondsOfTape(date, time) : undefined;
    const label = timecode && { number: frameNumberOf(timecode, this.#lines), text: timecodeText(timecode) };
    this.#timecodes.add(place, { label, clockSeconds, isRecordingStart });
    this.#recordings.add(place, { date, time, isRecordingStart });
    // Frames without sound are all error codes and alike: nobody gave them again.
    if (!isWithoutSound) this.#repeated.add(place, planes, label?.text);
    if (isOtherSpeed) this.#otherSpeed(place);
  }

  /** Neighbouring frames are one event. */
  #otherSpeed({ frame, start, samples }: FramePlace): void {
    const last = this.#speeds.at(-1);
    if (last && last.start + last.length === start)
      this.#speeds[this.#speeds.length - 1] = {
        ...last,
        length: last.length + samples,
        measured: frame - last.firstFrame + 1,
      };
    else
      this.#speeds.push({
        ...{ kind: 'other-speed', start, length: samples, firstFrame: frame, measured: 1, expected: 0, confidence: 1 },
        ...{ unit: 'frames not played forward at normal speed', detail: {} },
      });
  }

  #facts(): DvFacts {
    const { mode, table, firstFrame, hasSecondPair } = this.#segment;
    const { fewest, most, frames } = this.#counted;
    return {
      kind: 'dv',
      ...{ system: mode.system.id, application: applicationName(this.#application), difChannels: mode.difChannels },
      ...{ rateHz: mode.rateHz, word: mode.word, hasSecondPair: mode.word === 16 || hasSecondPair },
      ...{ firstFrame, tapeFrames: table.length, framesWithSound: frames },
      samplesPerFrame: frames > 0 ? { fewest, most } : null,
      trueRate: this.#trueRate(),
      flags: this.#flags.facts(),
      timecode: this.#timecodes.facts(),
      recordings: this.#recordings.facts(),
      lostByTrack: this.#losses.byTrack.map((tracks) => [...tracks]),
    };
  }

  /** Samples over frames: exact against the clock of the picture, whose own error nobody can see from here. */
  #trueRate(): DvTrueRate | null {
    const { frames, samples, fewest, most } = this.#counted;
    const { frameRate } = this.#segment.mode.system;
    if (frames === 0 || samples === 0) return null;
    const measured = rate(samples * frameRate.num, frames * frameRate.den);
    const nominal = this.#segment.mode.rateHz;
    return {
      ...{ num: measured.num, den: measured.den },
      ppm: 1e6 * (rateHz(measured) / nominal - 1),
      // A frame begins and ends within the spread of the counts.
      uncertaintyPpm: 1e6 * (Math.max(1, most - fewest) / samples),
    };
  }
}

function applicationName(application: number): string {
  if (application === 0) return 'IEC 61834';
  return application === 1 ? 'SMPTE 314M' : `unknown (${application})`;
}
