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
  const log = await readStatusLog(status, info);
  const source = isTypedStatus(status) ? 'typed' : status;
  return { judge: (measured) => judgeInterface(log, source, { ...measured, rate, channels }) };
}

export async function readStatusLog(status: string, info: FrameInfo): Promise<StatusLog> {
  if (isTypedStatus(status)) return typedStatus(status, info.frames);
  return parseStatusLog(await readTextFile(status, 'status log', MOST_LOG_BYTES), status, info);
}
