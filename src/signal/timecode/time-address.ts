// Hours, minutes, seconds and frames as a count of frames and back, with and without drop frames (SMPTE 12M). Not for rates in
// hertz or for what is on a tape.

/** How frames are numbered: so many in a second; with drop, numbers 00 and 01 are left out each minute but every tenth. */
export interface Numbering {
  readonly count: 24 | 25 | 30;
  readonly isDrop: boolean;
}

export interface TimeAddress {
  readonly hours: number;
  readonly minutes: number;
  readonly seconds: number;
  readonly frames: number;
}

/** 107 892 frames an hour with drop (formats.md 11). */
const DROP_PER_MINUTE = 30 * 60 - 2;
const DROP_PER_TEN_MINUTES = 10 * DROP_PER_MINUTE + 2;

export function framesPerDay({ count, isDrop }: Numbering): number {
  return isDrop ? 24 * 6 * DROP_PER_TEN_MINUTES : 24 * 3600 * count;
}

/** Frames since midnight. The address must be one that the numbering knows (`isAddress`). */
export function frameNumber({ hours, minutes, seconds, frames }: TimeAddress, { count, isDrop }: Numbering): number {
  const allMinutes = 60 * hours + minutes;
  const dropped = isDrop ? 2 * (allMinutes - Math.floor(allMinutes / 10)) : 0;
  return (60 * allMinutes + seconds) * count + frames - dropped;
}

/** The address of any frame number; wraps at midnight both ways. */
export function addressOf(frame: number, numbering: Numbering): TimeAddress {
  const day = framesPerDay(numbering);
  const { count, isDrop } = numbering;
  let number = ((frame % day) + day) % day;
  if (isDrop) {
    const tens = Math.floor(number / DROP_PER_TEN_MINUTES);
    const rest = number - tens * DROP_PER_TEN_MINUTES;
    number += 18 * tens + 2 * Math.max(0, Math.floor((rest - 2) / DROP_PER_MINUTE));
  }
  const allSeconds = Math.floor(number / count);
  return {
    hours: Math.floor(allSeconds / 3600),
    minutes: Math.floor(allSeconds / 60) % 60,
    seconds: allSeconds % 60,
    frames: number % count,
  };
}

/** Whether the numbering has this address: digits in range, and not one of the numbers that drop leaves out. */
export function isAddress({ hours, minutes, seconds, frames }: TimeAddress, { count, isDrop }: Numbering): boolean {
  if (hours > 23 || minutes > 59 || seconds > 59 || frames >= count) return false;
  return !(isDrop && seconds === 0 && frames < 2 && minutes % 10 !== 0);
}

/** "01:23:45:13", or "01:23:45;13" where frames are dropped. */
export function formatAddress({ hours, minutes, seconds, frames }: TimeAddress, isDrop: boolean): string {
  const two = (value: number) => `${value}`.padStart(2, '0');
  return `${two(hours)}:${two(minutes)}:${two(seconds)}${isDrop ? ';' : ':'}${two(frames)}`;
}

/** The address in "hh:mm:ss:ff" or "hh:mm:ss;ff" (semicolon or full stop: drop); undefined where it is none. */
export function parseAddress(text: string): { address: TimeAddress; isDrop: boolean } | undefined {
  const match = /^(\d{1,2}):(\d{2}):(\d{2})([:;.])(\d{2})$/.exec(text.trim());
  if (!match) return undefined;
  const [hours, minutes, seconds, frames] = [match[1], match[2], match[3], match[5]].map(Number);
  if (hours > 23 || minutes > 59 || seconds > 59 || frames > 29) return undefined;
  return { address: { hours, minutes, seconds, frames }, isDrop: match[4] !== ':' };
}
