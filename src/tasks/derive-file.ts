// `derive`: a corrected copy of a capture as a new file that names its parent, in its own history and in a note beside it: split words joined, a
// delay within pairs taken out, emphasis taken off. The capture is only read; nothing is overwritten.
import { basename, dirname, join } from 'node:path';
import { type Block, TapeproofError, VERSION } from '../base/index.ts';
import { type DeriveDocument, deriveText } from '../deliver/index.ts';
import { coverLost, type Derivation, derive } from '../derive/index.ts';
import { DETECTORS, Examination, type Verdict } from '../examine/index.ts';
import { type AudioFile, type Digests, writeFileSafely } from '../media/index.ts';
import { fileSource, openCapture, type ReadOptions } from './capture-source.ts';
import { type TaskContext, tellFrames } from './context.ts';
import { chosenCodes, chosenDelays, chosenPairs } from './derive-choice.ts';
import { refuseExisting } from './refuse-existing.ts';
import { writeMaster } from './write-master.ts';

export interface DeriveOptions extends Omit<ReadOptions, 'status'> {
  readonly out?: string | undefined;
  readonly deEmphasis?: boolean | undefined;
  /** `measured`, or how late the second channel of each pair is, in samples: "-0.5" or "-0.5,0" */
  readonly skew?: string | undefined;
  /** `found`, or pairs of file channels, upper first: "1+5,2+6" */
  readonly join?: string | undefined;
  /** `tape`, or the samples that stand for "no valid sample": "-32768" or "-32768,-32705" */
  readonly cover?: string | undefined;
}

export async function deriveFile(
  path: string,
  options: DeriveOptions,
  context: TaskContext = {},
): Promise<DeriveDocument> {
  const { deEmphasis = false, skew, join: words, cover } = options;
  if (!deEmphasis && skew === undefined && words === undefined && cover === undefined) {
    throw new TapeproofError('input', 'nothing to correct was named', {
      expected: 'one or more of --de-emphasis, --skew, --join and --cover',
    });
  }
  const out = options.out ?? join(dirname(path), `${basename(path).replace(/\.[^.]*$/, '')}.derivative.wav`);
  const note = `${out}.txt`;
  await refuseExisting(out);
  await refuseExisting(note);
  const audio = await openCapture(fileSource(path, options));
  try {
    const lost = cover === undefined ? [] : chosenCodes(cover, audio.info);
    const { verdicts, digests, covered } = await listen(audio, path, lost, context);
    const pairs = words === undefined ? [] : chosenPairs(words, verdicts, audio.info);
    const late = skew === undefined ? [] : chosenDelays(skew, verdicts, audio.info, pairs);
    const document = await write(
      audio,
      { path, out, note, digests, lost, covered, cautions: deEmphasis ? removedAlready(verdicts) : [] },
      { join: pairs, late, deEmphasis },
      context,
    );
    await writeFileSafely(note, deriveText(document));
    return document;
  } finally {
    await audio.close();
  }
}

/** Detectors whose verdicts choose a correction or speak against it. */
const ASKED = ['skew', 'split-words', 'emphasis'];

/** One read of the parent: its digests, and what the detectors say that the correction may lean on. */
async function listen(audio: AudioFile, path: string, lost: readonly number[], { stop, progress }: TaskContext) {
  const detectors = DETECTORS.filter(({ meta }) => ASKED.includes(meta.id));
  const examination = new Examination(audio.info, detectors);
  const pass = audio.pass({ stop });
  const tell = tellFrames(progress, `reading ${path}`, audio.info);
  let covered = 0;
  for await (const block of pass.blocks) {
    covered += countOf(block, lost);
    examination.push(block);
    tell(block);
  }
  const { verdicts }: { verdicts: readonly Verdict[] } = await examination.finish(audio, stop);
  return { verdicts, digests: pass.digests(), covered };
}

function countOf({ planes, frames }: Block, values: readonly number[]): number {
  if (values.length === 0) return 0;
  let count = 0;
  for (const plane of planes) for (let i = 0; i < frames; i++) if (values.includes(plane[i])) count++;
  return count;
}

interface Names {
  readonly path: string;
  readonly out: string;
  readonly note: string;
  readonly digests: Digests;
  /** samples that stand for "no valid sample", to be covered; none: nothing is */
  readonly lost: readonly number[];
  /** how many of them there are */
  readonly covered: number;
  readonly cautions: readonly string[];
}

async function write(
  audio: AudioFile,
  { path, out, note, digests, lost, covered, cautions }: Names,
  derivation: Derivation,
  { stop, progress }: TaskContext,
): Promise<DeriveDocument> {
  const derived = derive(lost.length > 0 ? coverLost(audio, lost) : audio, derivation);
  const { info } = audio;
  const covering = lost.length > 0 ? [coverStep(lost, covered)] : [];
  const steps = [...covering, ...stepsOf(derivation)];
  const tell = tellFrames(progress, `writing ${out}`, info);
  async function* blocks(): AsyncGenerator<Block> {
    for await (const block of derived.blocks(stop)) {
      yield block;
      tell(block);
    }
  }
  const { channels, bits } = derived;
  const bext = historyOf(audio, path, derivation, derived, covering.length > 0 ? ['lost samples covered'] : []);
  const master = await writeMaster(out, { channels, rate: info.rate, bits, bext }, blocks());
  return {
    schema: 'tapeproof/derive@1',
    parent: { path, digests: { file: digests.file, audio: digests.audio } },
    ...{ out, note, steps, rate: info.rate, channels, bits, frames: master.frames },
    clippedSamples: derived.clipped(),
    cautions,
    digests: master.digests,
  };
}

function coverStep(lost: readonly number[], covered: number): string {
  return `${covered} samples that stand for "no valid sample" (${lost.join(', ')}) covered by straight lines, by silence where more than a twentieth of a second is lost. They are invented.`;
}

/** The rounding noise of the parent says that somebody took emphasis off before. */
function removedAlready(verdicts: readonly Verdict[]): string[] {
  return verdicts.flatMap(({ question, answer, channel }) =>
    question === 'emphasis' && answer !== 'cannot tell'
      ? [
          `channel ${channel} of the parent sounds as if emphasis had been ${answer} before: this copy takes it off once more`,
        ]
      : [],
  );
}

function stepsOf({ join: pairs, late, deEmphasis }: Derivation): string[] {
  return [
    ...pairs.map(
      ({ upper, lower, lowerBits }) =>
        `Words joined: channel ${upper} holds the upper bits, channel ${lower} the lower ${lowerBits}. Exact; channel ${lower} is left out.`,
    ),
    ...late.flatMap((frames, p) =>
      frames === 0
        ? []
        : [
            `Channel ${2 * p + 2} moved ${Math.abs(frames)} samples ${frames > 0 ? 'earlier' : 'later'}, to stand with channel ${2 * p + 1}, by an interpolating filter; channel ${2 * p + 1} has its own samples.`,
          ],
    ),
    ...(deEmphasis
      ? ['Emphasis 50/15 us taken off by a filter within 0.02 dB of the law. Not to be taken off again.']
      : []),
  ];
}

/** EBU R 98: one line for each generation, oldest first; no commas in the free text. */
function historyOf(
  { info }: AudioFile,
  path: string,
  { join: pairs, late, deEmphasis }: Derivation,
  { channels, bits }: { readonly channels: number; readonly bits: number },
  before: readonly string[],
) {
  const done = [
    ...before,
    ...pairs.map(({ upper, lower }) => `words of channels ${upper} and ${lower} joined`),
    ...late.flatMap((frames, p) => (frames === 0 ? [] : [`channel ${2 * p + 2} moved by ${-frames} samples`])),
    ...(deEmphasis ? ['50/15 us emphasis taken off'] : []),
  ].join('; ');
  const parent = basename(path).replaceAll(',', '_');
  const mode = channels === 1 ? 'mono' : channels === 2 ? 'stereo' : `${channels} channels`;
  const hz = Math.round(info.rate.num / info.rate.den);
  const line = `A=PCM,F=${hz},W=${bits},M=${mode},T=DERIVATIVE of ${parent}; ${done}; tapeproof ${VERSION}\r\n`;
  const history = info.bext?.codingHistory ? `${info.bext.codingHistory.trimEnd()}\r\n` : '';
  return {
    description: `DERIVATIVE of ${parent}: ${done}`,
    originator: 'tapeproof',
    timeReference: info.bext?.timeReference ?? 0,
    codingHistory: history + line,
  };
}
