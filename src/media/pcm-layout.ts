// Where the integers of an uncompressed file lie and how they are stored: the one shape that all PCM containers come down to.
// Settles what no header can be believed about: whole frames, the side on which padded samples stand, float samples.
import type { Problem, Rate } from '../base/index.ts';
import type { MediaInfo } from './audio-file.ts';
import type { Bext } from './bext.ts';
import type { ByteFile } from './byte-file.ts';
import { scanFloat } from './float-scan.ts';
import { settleJustification } from './justification.ts';
import { nameOf, type PcmEncoding } from './pcm-encoding.ts';

/** What a container's own parser found. */
export interface PcmFound {
  readonly container: MediaInfo['container'];
  readonly channels: number;
  readonly rate: Rate;
  readonly encoding: PcmEncoding;
  /** bits that the header calls valid */
  readonly validBits: number;
  /** the header leaves no choice but left-justified samples */
  readonly isLeftByHeader: boolean;
  readonly dataAt: number;
  /** bytes of audio that exist, whole frames or not */
  readonly bytes: number;
  readonly problems: readonly Problem[];
  readonly bext?: Bext | undefined;
}

export interface PcmLayout {
  readonly info: MediaInfo;
  readonly encoding: PcmEncoding;
  readonly frameBytes: number;
  readonly dataAt: number;
  /** whole frames only */
  readonly dataBytes: number;
  /** bits at the bottom of every delivered sample that should be 0; a pass watches them */
  readonly paddingBits: number;
}

/** Problems after which some audio of the file stays unread. */
const LOSES_AUDIO = new Set([
  'data-truncated',
  'partial-frame',
  'trailing-data',
  'trailing-bytes',
  'second-data-chunk',
  'frames-contradiction',
]);

/** Throws `unsupported` for float samples that are not all exact integers. */
export async function settlePcm(file: ByteFile, found: PcmFound): Promise<PcmLayout> {
  const frameBytes = (found.channels * found.encoding.bits) / 8;
  const frames = Math.floor(found.bytes / frameBytes);
  const settled = await settleSamples(file, found, frames);
  const problems = [...found.problems, ...partialFrame(found, frameBytes), ...settled.problems];
  const info: MediaInfo = {
    name: file.name,
    channels: found.channels,
    frames,
    rate: found.rate,
    bits: settled.bits,
    container: found.container,
    containerBits: settled.bits,
    headerBits: settled.headerBits,
    encoding: nameOf(found.encoding),
    readAs: problems.some(({ id, severity }) => LOSES_AUDIO.has(id) && severity !== 'note') ? 'partial' : 'whole',
    problems,
    fileBytes: file.size,
    ...(settled.justification ? { justification: settled.justification } : {}),
    ...(found.bext ? { bext: found.bext } : {}),
  };
  const { encoding, paddingBits } = settled;
  return { info, encoding, frameBytes, dataAt: found.dataAt, dataBytes: frames * frameBytes, paddingBits };
}

async function settleSamples(file: ByteFile, found: PcmFound, frames: number) {
  const { encoding, channels, dataAt } = found;
  if (encoding.kind === 'float') {
    const { bits, problems } = await scanFloat(file, encoding, channels, dataAt, frames);
    return { encoding: { ...encoding, floatBits: bits }, bits, headerBits: bits, paddingBits: 0, problems };
  }
  const { justification, problems } = await settleJustification(file, found, frames);
  if (justification === 'right') {
    const right = { encoding: { ...encoding, rightBits: found.validBits }, bits: found.validBits };
    return { ...right, headerBits: found.validBits, paddingBits: 0, problems, justification };
  }
  const paddingBits = justification === 'left' ? encoding.bits - found.validBits : 0;
  return { encoding, bits: encoding.bits, headerBits: found.validBits, paddingBits, problems, justification };
}

function partialFrame({ bytes, dataAt }: PcmFound, frameBytes: number): Problem[] {
  const over = bytes % frameBytes;
  if (over === 0) return [];
  return [
    {
      id: 'partial-frame',
      severity: 'damage',
      message: `the audio ends inside a frame: ${over} bytes were left out`,
      offset: dataAt + bytes - over,
      expected: `a multiple of ${frameBytes} bytes`,
      found: `${bytes}`,
    },
  ];
}
