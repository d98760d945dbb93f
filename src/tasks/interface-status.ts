// What the interface said of a capture, typed or from a log, read before the capture is and judged after it. Not for decoding (tape) or judging
// (examine).
import type { FrameInfo } from '../base/index.ts';
import { type InterfaceReading, judgeInterface, type MeasuredSide } from '../examine/index.ts';
import { isTypedStatus, parseStatusLog, type StatusLog, typedStatus } from '../tape/index.ts';
import { readTextFile } from './text-file.ts';

/** Two million lines of changes; a log of every block of a whole tape should be thinned to the changes. */
const MOST_LOG_BYTES = 64 * 1024 * 1024;

export interface ReadStatus {
  judge(measured: Omit<MeasuredSide, 'rate' | 'channels'>): InterfaceReading;
}

/** `status`: hex, words, or the path of a log. Throws `input` with the place. */
export async function readStatus(status: string, info: FrameInfo): Promise<ReadStatus> {
  const { rate, channels } = info;
  const isTyped = isTypedStatus(status);
  const log: StatusLog = isTyped
    ? typedStatus(status, info.frames)
    : parseStatusLog(await readTextFile(status, 'status log', MOST_LOG_BYTES), status, info);
  return { judge: (measured) => judgeInterface(log, isTyped ? 'typed' : status, { ...measured, rate, channels }) };
}
