// Time code, date and time of recording as a DV tape writes them: packs of four bytes to plain data and text. What is no valid number
// is no time. Source: R18 R19, formats sheet 4.6, certainty T; the century is our own rule.

/** One label of the time code. */
export interface TapeTimecode {
  readonly hours: number;
  readonly minutes: number;
  readonly seconds: number;
  readonly frames: number;
  readonly isDropFrame: boolean;
}

const NOTHING = 0xffffffff;

/** Two decimal digits; undefined where they are none. */
function decimal(tens: number, units: number): number | undefined {
  return units > 9 || tens > 9 ? undefined : 10 * tens + units;
}

/** `pack`: the four bytes behind the pack's number, the first one highest. `lines`: the drop bit means nothing in 625. */
export function timecodeOf(pack: number, lines: 525 | 625): TapeTimecode | undefined {
  if (pack >>> 0 === NOTHING) return undefined;
  const frames = decimal((pack >>> 28) & 3, (pack >>> 24) & 15);
  const seconds = decimal((pack >>> 20) & 7, (pack >>> 16) & 15);
  const minutes = decimal((pack >>> 12) & 7, (pack >>> 8) & 15);
  const hours = decimal((pack >>> 4) & 3, pack & 15);
  if (frames === undefined || seconds === undefined || minutes === undefined || hours === undefined) return undefined;
  if (frames >= (lines === 525 ? 30 : 25) || seconds > 59 || minutes > 59 || hours > 23) return undefined;
  return { hours, minutes, seconds, frames, isDropFrame: lines === 525 && ((pack >>> 30) & 1) === 1 };
}

/** "01:02:03:04", with a semicolon before the frames where labels are dropped. */
export function timecodeText({ hours, minutes, seconds, frames, isDropFrame }: TapeTimecode): string {
  return `${two(hours)}:${two(minutes)}:${two(seconds)}${isDropFrame ? ';' : ':'}${two(frames)}`;
}

/** Frames since 00:00:00:00. Two labels are dropped at every minute but each tenth (SMPTE 12M). */
export function frameNumberOf(
  { hours, minutes, seconds, frames, isDropFrame }: TapeTimecode,
  lines: 525 | 625,
): number {
  const rate = lines === 525 ? 30 : 25;
  const minute = 60 * hours + minutes;
  const dropped = isDropFrame ? 2 * (minute - Math.floor(minute / 10)) : 0;
  return (60 * minute + seconds) * rate + frames - dropped;
}

/** "2001-02-03"; years from 75 on are of the last century. */
export function dateOf(pack: number): string | undefined {
  const day = decimal((pack >>> 20) & 3, (pack >>> 16) & 15);
  const month = decimal((pack >>> 12) & 1, (pack >>> 8) & 15);
  const year = decimal((pack >>> 4) & 15, pack & 15);
  if (pack >>> 0 === NOTHING || day === undefined || month === undefined || year === undefined) return undefined;
  if (day < 1 || day > 31 || month < 1 || month > 12) return undefined;
  return `${year >= 75 ? 19 : 20}${two(year)}-${two(month)}-${two(day)}`;
}

/** "12:34:56". */
export function clockOf(pack: number): string | undefined {
  const seconds = decimal((pack >>> 20) & 7, (pack >>> 16) & 15);
  const minutes = decimal((pack >>> 12) & 7, (pack >>> 8) & 15);
  const hours = decimal((pack >>> 4) & 3, pack & 15);
  if (pack >>> 0 === NOTHING || seconds === undefined || minutes === undefined || hours === undefined) return undefined;
  if (seconds > 59 || minutes > 59 || hours > 23) return undefined;
  return `${two(hours)}:${two(minutes)}:${two(seconds)}`;
}

/** Seconds since 1970 of a date and a clock, for differences only. */
export function secondsOfTape(date: string, clock: string): number {
  return Date.parse(`${date}T${clock}Z`) / 1000;
}

function two(value: number): string {
  return String(value).padStart(2, '0');
}
