// `rate`: the true rate of a capture against its header, from what is in it (known tones, the rhythm of losses, timecode) and from what is given (a clock, a capture
// of known rate, flags, the format); and where it changes along the file. Reads only.
import { align } from '../align/index.ts';
import { formatRate, rateHz, type Span } from '../base/index.ts';
import type { RateDocument } from '../deliver/index.ts';
import {
  DETECTORS,
  Examination,
  judgeRate,
  type RateEvidence,
  type RateStretch,
  rateChanges,
  rateStretches,
  StillGaps,
  type Verdict,
} from '../examine/index.ts';
import type { AudioFile } from '../media/index.ts';
import { findFormat, type StatusLog, statusTopic } from '../tape/index.ts';
import { fileSource, openCapture, type ReadOptions } from './capture-source.ts';
import { type TaskContext, tellFrames } from './context.ts';
import { readStatusLog } from './interface-status.ts';
import { clockEvidence, flagEvidence, lossEvidence, timecodeEvidence, toneEvidence } from './rate-evidence.ts';

export interface RateOptions extends ReadOptions {
  /** how long the capture lasted by a clock: "1:02:03.5" or "3600+-0.5" */
  readonly clock?: string | undefined;
  /** a capture of the same sound whose stated rate is trusted */
  readonly reference?: string | undefined;
  readonly format?: string | undefined;
}

/** A gap of this length in all channels may hide a change of rate; gaps closer than a second are one. */
const GAP_SECONDS = 0.02;
const JOIN_SECONDS = 1;
/** Detectors whose findings or verdicts are evidence of a rate. */
const ASKED = ['interpolated', 'held', 'muted', 'repeated', 'timecode'];
/** What an ordinary recorder's crystal may be off. */
const REFERENCE_PPM = 50;

export async function rateFile(path: string, options: RateOptions, context: TaskContext = {}): Promise<RateDocument> {
  const audio = await openCapture(fileSource(path, options));
  try {
    const { info } = audio;
    const given = [
      ...(options.clock === undefined ? [] : [clockEvidence(options.clock, info)]),
      ...(options.format === undefined ? [] : [formatEvidence(options.format)]),
    ];
    const status = options.status === undefined ? undefined : await readStatusLog(options.status, info);
    const { verdicts, findings, gaps } = await listen(audio, path, context);
    const stretches = await rateStretches(audio, gaps, context.stop);
    const changes = rateChanges(stretches);
    const evidence = [
      ...toneEvidence(stretches, changes.length > 0),
      ...lossEvidence(findings),
      ...timecodeEvidence(verdicts, info),
      ...given,
      ...(options.reference === undefined ? [] : [await referenceEvidence(audio, options.reference, context)]),
      ...(status ? flagEvidence(status) : []),
    ];
    return {
      schema: 'tapeproof/rate@1',
      path,
      header: info.rate,
      frames: info.frames,
      answer: changes.length > 0 ? changing(stretches) : judgeRate(info.rate, evidence),
      evidence,
      gaps: gaps.length,
      stretches: stretches.map(({ start, length, rate }) => ({ start, length, rate: rate ?? null })),
      changes,
      flaggedChanges: status ? flaggedChanges(status) : [],
      limits: limits(gaps, stretches),
    };
  } finally {
    await audio.close();
  }
}

function changing(stretches: readonly RateStretch[]): RateDocument['answer'] {
  const rates = [...new Set(stretches.flatMap(({ rate }) => (rate ? [formatRate(rate)] : [])))].join(', ');
  const because = `it changes along the file (${rates}); see the stretches`;
  return { rate: null, ppm: null, uncertaintyPpm: null, confidence: 0, because };
}

async function listen(audio: AudioFile, path: string, { stop, progress }: TaskContext) {
  const { info } = audio;
  const examination = new Examination(
    info,
    DETECTORS.filter(({ meta }) => ASKED.includes(meta.id)),
  );
  const hz = rateHz(info.rate);
  const still = new StillGaps(Math.round(GAP_SECONDS * hz), Math.round(JOIN_SECONDS * hz));
  const tell = tellFrames(progress, `listening to ${path}`, info);
  for await (const block of audio.blocks({ stop })) {
    examination.push(block);
    still.push(block);
    tell(block);
  }
  const { verdicts, findings }: { verdicts: readonly Verdict[]; findings: Parameters<typeof lossEvidence>[0] } =
    await examination.finish(audio, stop);
  return { verdicts, findings, gaps: still.finish() };
}

function formatEvidence(words: string): RateEvidence {
  const format = findFormat(words);
  const { rates } = format.signal;
  return {
    ...{ kind: 'format', measuredHz: null, uncertaintyPpm: null, allows: rates.value, isClaim: true },
    text: `${format.label} runs at ${rates.value.map(formatRate).join(' or ')}`,
    assumes: 'the tape is of this format and the capture followed the deck',
  };
}

async function referenceEvidence(audio: AudioFile, path: string, { stop }: TaskContext): Promise<RateEvidence> {
  const other = await openCapture(fileSource(path));
  try {
    const { placements } = await align([{ source: other }, { source: audio }], { stop });
    const { driftPpm, relation, segments } = placements[1];
    const stated = rateHz(other.info.rate);
    const common = { kind: 'reference' as const, allows: null, isClaim: false };
    if (driftPpm === null || relation === 'bit-equal') {
      const why =
        driftPpm === null
          ? 'has nothing in common with this one'
          : 'holds the same samples: one clock, which tells no rate';
      return { ...common, text: `${path} ${why}`, measuredHz: null, uncertaintyPpm: null, isClaim: true, assumes: '' };
    }
    const measuredHz = stated / (1 + driftPpm * 1e-6);
    // The place is known to a frame or so; over the common length that is the finest drift that shows.
    const overlap = segments.reduce((sum, { length }) => sum + length, 0);
    const uncertaintyPpm = REFERENCE_PPM + (2e6 * (placements[1].uncertaintyFrames ?? 1)) / Math.max(1, overlap);
    return {
      ...common,
      text: `against ${path} (${stated} Hz stated) it runs at ${measuredHz.toFixed(2)} Hz`,
      ...{ measuredHz, uncertaintyPpm, assumes: `the clock of ${path} is within ${REFERENCE_PPM} ppm` },
    };
  } finally {
    await other.close();
  }
}

function flaggedChanges({ stretches }: StatusLog): RateDocument['flaggedChanges'] {
  const first = stretches.filter(({ channel, block }) => channel <= 1 && block.check?.isRight !== false);
  return first.slice(1).flatMap(({ start, block }, i) => {
    const [before, after] = [first[i].block, block].map((one) => statusTopic(one, 'rate')?.value.words ?? 'not seen');
    return before === after ? [] : [{ at: start, before, after }];
  });
}

function limits(gaps: readonly Span[], stretches: readonly RateStretch[]): string[] {
  const silent = stretches.filter(({ rate }) => !rate).length;
  return [
    'A rate is heard only where hum, the line of a picture or the pilot of stereo radio is in the sound all along.',
    `A change of rate is looked for at the ${gaps.length} places where all channels stand still for 20 ms or more; one without such a gap goes unseen.`,
    ...(silent > 0
      ? [`${silent} of ${stretches.length} stretches between such places say nothing of their rate.`]
      : []),
  ];
}

/** A rate that is not the header's, or changes. */
export function rateNeedsPerson({ answer, changes }: RateDocument): boolean {
  return changes.length > 0 || Math.abs(answer.ppm ?? 0) > (answer.uncertaintyPpm ?? 0) + 1;
}
