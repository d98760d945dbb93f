// The times on a DAT: packs of programme, absolute and running time, and of date, as labels and text. Source: R23, formats sheet 5.4,
// certainty T: a second has 33 frames, every third 34. Professional time code counts its own frames and is given as text only.
import type { TimeLabel } from '../framed/label-runs.ts';

export const PROGRAMME_TIME = 1;
export const ABSOLUTE_TIME = 2;
export const RUNNING_TIME = 3;
export const DATE = 5;

/** Two decimal digits; undefined where they are none. */
function decimal(byte: number): number | undefined {
  return byte >> 4 > 9 || (byte & 15) > 9 ? undefined : 10 * (byte >> 4) + (byte & 15);
}

/** Of a time pack (items 1 to 3) that begins at byte `at`. Undefined for lead-in, no time and professional time code. */
export function timeOf(bytes: Uint8Array, at: number): TimeLabel | undefined {
  if (isProfessional(bytes, at)) return undefined;
  const [hours, minutes, seconds, frames] = [3, 4, 5, 6].map((i) => decimal(bytes[at + i]));
  if (hours === undefined || minutes === undefined || seconds === undefined || frames === undefined) return undefined;
  if (minutes > 59 || seconds > 59 || frames > (seconds % 3 === 2 ? 33 : 32)) return undefined;
  const total = 3600 * hours + 60 * minutes + seconds;
  return {
    number: 100 * Math.floor(total / 3) + 33 * (total % 3) + frames,
    text: [hours, minutes, seconds].map(two).join(':').concat('.', two(frames)),
  };
}

const PRO_RATES = ['30', '29.97 non-drop', '29.97 drop', '25', '24'] as const;

export function isProfessional(bytes: Uint8Array, at: number): boolean {
  return ((bytes[at] >> 3) & 1) === 1;
}

/** "01:02:03:04 at 25 frames/s"; undefined where the pack is none of the kind. */
export function professionalTime(bytes: Uint8Array, at: number): string | undefined {
  if (!isProfessional(bytes, at)) return undefined;
  const rate = PRO_RATES[(bytes[at + 1] >> 3) & 7];
  const digits = [3, 4, 5, 6].map((i) => decimal(bytes[at + i]));
  if (rate === undefined || digits.includes(undefined)) return undefined;
  return `${digits.map((value) => two(value ?? 0)).join(':')} at ${rate} frames/s`;
}

export interface DatDate {
  readonly date: string;
  readonly time: string;
}

/** Years from 75 on are of the last century: our own rule. */
export function dateOf(bytes: Uint8Array, at: number): DatDate | undefined {
  const [year, month, day, hours, minutes, seconds] = [1, 2, 3, 4, 5, 6].map((i) => decimal(bytes[at + i]));
  if (year === undefined || month === undefined || day === undefined) return undefined;
  if (hours === undefined || minutes === undefined || seconds === undefined) return undefined;
  if (month < 1 || month > 12 || day < 1 || day > 31 || hours > 23 || minutes > 59 || seconds > 59) return undefined;
  return {
    date: `${year >= 75 ? 19 : 20}${two(year)}-${two(month)}-${two(day)}`,
    time: [hours, minutes, seconds].map(two).join(':'),
  };
}

function two(value: number): string {
  return String(value).padStart(2, '0');
}
