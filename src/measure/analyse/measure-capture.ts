// Everything a capture of the test programme says of the device it came through. One section in memory at a time.
// Not for the question which format it was (identify/).
import { type FrameSource, type Progress, rateHz, type StopSignal, throwIfStopped } from '../../base/index.ts';
import { LEAST_LIKENESS, locateProgramme, type Placement } from '../locate/placement.ts';
import { type Section, TONES_DB } from '../programme/plan.ts';
import { type ChannelDelay, type ClockReading, channelDelays, clockReading } from './clock-reading.ts';
import { type FadePoint, readFade } from './fade-reading.ts';
import { type IdleReading, readIdle } from './idle-reading.ts';
import { type ImpulseReading, readImpulses } from './impulse-reading.ts';
import { type LevelStory, levelStory } from './level-story.ts';
import { difference, type Measured, NOTHING, shifted } from './measured.ts';
import { type ResponseStory, responseStory } from './response-story.ts';
import { readSolo, type SeparationReading, type SoloTone, separation } from './separation-reading.ts';
import { readStretch, type Stretch } from './stretch.ts';
import { type ResponsePoint, readSweep, SWEEP_MARGIN } from './sweep-reading.ts';
import { readMultitone, readTwinHigh, readTwinLow } from './tone-mix.ts';
import { readTone, type ToneReading } from './tone-reading.ts';

export interface ChannelMeasurement {
  /** 1-based channel of the capture */
  readonly channel: number;
  readonly isInverted: boolean;
  readonly separation: SeparationReading;
  readonly levels: LevelStory;
  readonly ladder: readonly ToneReading[];
  /** level deviation of the fading tone, dB */
  readonly lowLevel: readonly { readonly sentDb: number; readonly deviationDb: Measured }[];
  readonly tones: readonly ToneReading[];
  readonly response: ResponseStory;
  readonly idle: IdleReading;
  readonly modulationDb: Measured;
  readonly differenceDb: Measured;
  readonly multitoneDb: Measured;
  readonly impulses: ImpulseReading;
}

export interface CaptureMeasurement {
  readonly placement: Placement;
  /** 0-based channel the places and delays refer to */
  readonly reference: number;
  readonly clock: ClockReading;
  /** of channels that hold the programme */
  readonly channels: readonly ChannelMeasurement[];
  /** 1-based channels of the capture that do not hold it */
  readonly absent: readonly number[];
  readonly delays: readonly ChannelDelay[];
  /** what makes numbers doubtful, in plain words */
  readonly doubts: readonly string[];
}

export interface MeasureOptions {
  readonly stop?: StopSignal | undefined;
  readonly progress?: Progress | undefined;
}

/** Seconds left out at both ends of a tone: fades, filters, the pilots' error. */
const MARGIN = 0.06;

/** Throws `input` as `locateProgramme` does. */
export async function measureCapture(source: FrameSource, options: MeasureOptions = {}): Promise<CaptureMeasurement> {
  const placement = await locateProgramme(source, options.stop);
  const heard = placement.channels.map((_, c) => c).filter((c) => placement.channels[c].likeness >= LEAST_LIKENESS);
  const { reference } = placement;
  const notes = heard.map(() => newNotes());
  for (const section of placement.plan.sections) {
    throwIfStopped(options.stop);
    tell(options.progress, source, placement, section);
    if (section.group === 'silence' || section.group === 'pilot') continue;
    const stretch = await readStretch(source, placement, section, marginOf(section));
    takeNote(section, stretch, heard, notes);
  }
  const channels = heard.map((c, k) => channelOf(c, placement, notes[k]));
  return {
    placement,
    reference,
    clock: clockReading(source.info, placement, placement.channels[reference]),
    channels,
    absent: placement.channels.map((_, c) => c + 1).filter((channel) => !heard.includes(channel - 1)),
    delays: channelDelays(placement, reference, heard),
    doubts: doubts(source, placement, channels),
  };
}

interface Notes {
  readonly ladder: ToneReading[];
  readonly tones: ToneReading[];
  readonly solos: SoloTone[];
  readonly twins: Measured[];
  fade: readonly FadePoint[];
  sweep: readonly ResponsePoint[];
  idle: IdleReading | undefined;
  multitone: Measured;
  impulses: ImpulseReading;
}

function newNotes(): Notes {
  return {
    ladder: [],
    tones: [],
    solos: [],
    twins: [],
    fade: [],
    sweep: [],
    idle: undefined,
    multitone: NOTHING,
    impulses: { polarity: 'cannot tell', earlyShare: null },
  };
}

function marginOf(section: Section): number {
  if (section.group === 'sweep') return -SWEEP_MARGIN;
  return section.group === 'impulses' ? 0 : section.group === 'idle' ? 0.3 : MARGIN;
}

function takeNote(section: Section, stretch: Stretch, heard: readonly number[], notes: readonly Notes[]): void {
  const { perSecond, planes } = stretch;
  const sweeps = section.group === 'sweep' ? readSweep(stretch, section) : [];
  for (const [k, note] of notes.entries()) {
    const channel = heard[k];
    const samples = planes[channel];
    const tone = section.sound.kind === 'tones' ? section.sound.tones[0] : { hz: 0, levelDb: TONES_DB };
    switch (section.group) {
      case 'idle':
        note.idle = readIdle(samples, perSecond);
        break;
      case 'ladder':
        note.ladder.push(readTone(samples, perSecond, tone.hz, tone.levelDb));
        break;
      case 'tones':
        if (tone.hz < 0.48 * perSecond) note.tones.push(readTone(samples, perSecond, tone.hz, tone.levelDb));
        break;
      case 'low-level':
        note.fade = readFade(stretch, channel, section);
        break;
      case 'sweep':
        note.sweep = sweeps[channel];
        break;
      case 'two-tone':
        note.twins.push(note.twins.length === 0 ? readTwinLow(samples, perSecond) : readTwinHigh(samples, perSecond));
        break;
      case 'multitone':
        note.multitone = readMultitone(samples, perSecond);
        break;
      case 'separation':
        if (section.channel !== 0) note.solos.push(readSolo(samples, perSecond, section.channel, tone.hz));
        break;
      case 'impulses':
        note.impulses = readImpulses(stretch, channel);
        break;
    }
  }
}

function channelOf(c: number, placement: Placement, note: Notes): ChannelMeasurement {
  const levels = levelStory(note.ladder);
  return {
    channel: c + 1,
    isInverted: placement.channels[c].isInverted,
    separation: separation(note.solos),
    levels,
    ladder: note.ladder,
    lowLevel: note.fade.map(({ sentDb, levelDb }) => ({
      sentDb,
      deviationDb: shifted(difference(levelDb, levels.gainDb), -sentDb),
    })),
    tones: note.tones,
    response: responseStory(note.sweep),
    idle: note.idle ?? readIdle(new Float64Array(0), 1),
    modulationDb: note.twins[0] ?? NOTHING,
    differenceDb: note.twins[1] ?? NOTHING,
    multitoneDb: note.multitone,
    impulses: note.impulses,
  };
}

function doubts(source: FrameSource, placement: Placement, channels: readonly ChannelMeasurement[]): string[] {
  const { info } = source;
  const out: string[] = [];
  const off = placement.framesPerSecond / rateHz(info.rate) - 1;
  if (Math.abs(off) > 300e-6) {
    out.push(
      `The file says ${rateHz(info.rate).toFixed(2)} Hz but holds ${placement.framesPerSecond.toFixed(2)} frames a second: its label, or a clock, is wrong.`,
    );
  }
  if (Math.abs(placement.middleOffset) > 0.5) {
    out.push(
      `Between the pilots ${placement.middleOffset.toFixed(2)} frames too many arrived (or too few): samples were lost or repeated. Distortion and noise hold the jumps.`,
    );
  }
  const top = 1 - 2 ** (1 - Math.min(16, info.bits));
  for (const { channel, ladder, levels } of channels) {
    const full = ladder.filter((step) => step.peak >= top && step.sentDb + (levels.gainDb.value ?? 0) > 0.05);
    if (full.length > 0) {
      out.push(
        `Channel ${channel} reaches the full scale of the file at ${full[0].sentDb} dBFS sent: the capture itself clips. Turn the recorder down and capture again.`,
      );
    }
    if ((levels.gainDb.value ?? 0) < -40)
      out.push(
        `Channel ${channel} is ${(-(levels.gainDb.value ?? 0)).toFixed(0)} dB too quiet for a sure measurement.`,
      );
  }
  return out;
}

function tell(progress: Progress | undefined, source: FrameSource, placement: Placement, section: Section): void {
  const done = Math.max(0, Math.round(placement.frameOf(section.start) - placement.frameOf(0)));
  const total = Math.round(placement.frameOf(placement.plan.seconds) - placement.frameOf(0));
  progress?.({ stage: `measuring ${source.info.name}`, done, total, unit: 'frames', rateHz: rateHz(source.info.rate) });
}
