// What a measurement says in sentences: the answer to "what is it really?", and how the numbers are meant. Shared by text and page.

import { formatRate } from '../../base/index.ts';
import type { Answer, Candidate } from '../../measure/index.ts';
import type { MeasuredCapture } from './measure-document.ts';

export const METHOD_NOTES: readonly string[] = [
  'Levels: 0 dBFS is a sine whose peaks reach full scale (AES17); noise and residuals are rms against that sine. Bands: 20 Hz to 20 kHz or half the rate.',
  'Uncertainties are expanded with a factor of 3 (about 99.7 per cent); they cover noise and the method, not faults of the recorder. "below" and "at least" are bounds.',
  'Dynamic range, THD+N and idle noise follow the methods of AES17, with the tone taken away by least squares instead of a notch filter. The rate is told against the clock of the player.',
];

export interface Saying {
  readonly text: string;
  readonly because: string;
}

/** What is said, and why, most important first. */
export function identitySayings(capture: MeasuredCapture): Saying[] {
  const { word, rate, formats, path, pathBecause } = capture.identity;
  const shown = formats.slice(0, 8).map((one) => one.id);
  const more = formats.length > shown.length ? `, and ${formats.length - shown.length} more` : '';
  return [
    { text: `Word: ${answerText(word)}`, because: word.because.join('; ') },
    { text: `Rate: ${answerText(rate)}`, because: rate.because.join('; ') },
    { text: `Path from the device to the file: ${path}`, because: pathBecause },
    {
      text:
        formats.length > 0
          ? `Formats of the sheets that agree: ${shown.join(', ')}${more}`
          : 'No format of the sheets agrees with both',
      because: '',
    },
    ...emphasisSayings(capture),
    {
      text: `Programme: written at ${formatRate(capture.programme.rate)} and ${capture.programme.bits} bits, begins at frame ${capture.programme.startFrame.toFixed(1)}`,
      because: '',
    },
  ];
}

function answerText({ answer, odds, remaining }: Answer): string {
  if (answer !== null) {
    const label = remaining.find((one) => one.id === answer)?.label ?? answer;
    return `${label}, odds ${oddsText(odds ?? 0)}`;
  }
  if (remaining.length === 0) return 'cannot tell';
  return `cannot tell; remaining: ${remaining.slice(0, 6).map(candidateText).join(', ')}`;
}

function candidateText({ label, probability }: Candidate): string {
  return `${label} ${probability >= 0.01 ? `${(100 * probability).toFixed(0)} %` : '< 1 %'}`;
}

function oddsText(odds: number): string {
  return odds >= 1e6 ? 'a million to one or better' : `${Math.floor(odds)} to 1`;
}

function emphasisSayings(capture: MeasuredCapture): Saying[] {
  const shapes = new Set(capture.channels.map((channel) => channel.response.emphasis));
  if (shapes.has('boosted'))
    return [{ text: 'Response: has the shape of 50/15 us pre-emphasis that was not undone', because: '' }];
  if (shapes.has('cut'))
    return [{ text: 'Response: has the shape of 50/15 us de-emphasis without pre-emphasis', because: '' }];
  return [];
}
