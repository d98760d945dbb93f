// Numbers and names as people read them in reports: seconds, shares, channel lists, clean text. Not for machines: JSON
// carries frames.
import { type Rate, rateHz, secondsOf } from '../base/index.ts';

/** Two decimals of a second; below 0.1 s milliseconds; below 1 ms the sample count, so that nothing real reads as zero. */
export function formatDuration(frames: number, at: Rate): string {
  const seconds = secondsOf(frames, at);
  if (frames === 0 || seconds >= 0.0995) return `${seconds.toFixed(2)} s`;
  if (seconds >= 0.001) return `${(seconds * 1000).toFixed(1)} ms`;
  return frames === 1 ? '1 sample' : `${frames} samples`;
}

/** Seconds for the total of a recording: always "5400.00 s". */
export function formatSeconds(frames: number, at: Rate): string {
  return `${secondsOf(frames, at).toFixed(2)} s`;
}

/** Per cent, cut towards the cautious side: 100 only when all, 0 only when none. */
export function formatShare(part: number, whole: number): string {
  if (whole <= 0 || part <= 0) return '0 %';
  if (part >= whole) return '100 %';
  const percent = (part / whole) * 100;
  if (percent < 0.001) return '< 0.001 %';
  return `${(Math.floor(percent * 1000) / 1000).toFixed(3)} %`;
}

/** "channel 1", "channels 3-4", "channels 1, 3-5". */
export function formatChannels(channels: readonly number[]): string {
  const sorted = [...new Set(channels)].sort((a, b) => a - b);
  const parts: string[] = [];
  for (let i = 0; i < sorted.length; ) {
    let j = i;
    while (j + 1 < sorted.length && sorted[j + 1] === sorted[j] + 1) j++;
    parts.push(i === j ? `${sorted[i]}` : `${sorted[i]}-${sorted[j]}`);
    i = j + 1;
  }
  return `${sorted.length === 1 ? 'channel' : 'channels'} ${parts.join(', ')}`;
}

/** "1 place", "37 places". */
export function countOf(count: number, one: string, many = `${one}s`): string {
  return `${count} ${count === 1 ? one : many}`;
}

/** Rate to write in a header that holds whole hertz only. */
export function headerRateHz(at: Rate): number {
  return Math.round(rateHz(at));
}

/** The first 12 hexadecimal digits: enough to compare by eye, the whole digest stands in the JSON. */
export function shortDigest(sha256: string): string {
  return sha256.length > 12 ? `${sha256.slice(0, 12)}…` : sha256;
}

/** Text from outside on one line for a terminal: control characters (line breaks, escape codes) become visible marks. */
export function visibleText(text: string): string {
  return text.replace(
    // biome-ignore lint/suspicious/noControlCharactersInRegex: finding them is the purpose
    /[\u0000-\u001f\u007f-\u009f\u2028\u2029\u202a-\u202e\u2066-\u2069]/g,
    (c) => `\\u${(c.codePointAt(0) ?? 0).toString(16).padStart(4, '0')}`,
  );
}

/** A value of a finding or verdict as a short text. */
export function formatValue(value: unknown): string {
  if (value === null || value === undefined) return '-';
  if (typeof value === 'number')
    return Number.isInteger(value) ? String(value) : Number(value.toPrecision(6)).toString();
  if (typeof value === 'boolean') return value ? 'yes' : 'no';
  return visibleText(typeof value === 'string' ? value : JSON.stringify(value));
}

/** Probability in words that do not round a doubt away: 0.9996 is "99.96 %", never "100 %" unless it is 1. */
export function formatConfidence(probability: number): string {
  if (probability > 0.9999) return '> 99.99 %';
  if (probability <= 0) return '0 %';
  return `${(Math.floor(probability * 10_000) / 100).toString()} %`;
}
