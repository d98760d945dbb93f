// What `derive` is to correct, from the words of the command line and the verdicts of the detectors: a measured answer is used only where there is
// one, a declared one only where the samples allow it.
import { type FrameInfo, TapeproofError } from '../base/index.ts';
import type { SplitPair } from '../derive/index.ts';
import type { Verdict } from '../examine/index.ts';

/** Two samples either way is more than any pair of converters is apart. */
const MOST_SAMPLES = 2;

/** `how`: "found", or pairs such as "1+5,2+6". */
export function chosenPairs(how: string, verdicts: readonly Verdict[], info: FrameInfo): SplitPair[] {
  const said = verdicts.filter(({ question }) => question === 'split-word');
  if (how === 'found') {
    const clear = said.filter(({ answer }) => answer !== 'cannot tell');
    if (clear.length > 0) return unique(clear.map((verdict) => pairOf(verdict, Number(verdict.evidence.upper))));
    throw new TapeproofError('input', 'no track was found to hold the lower bits of another', {
      path: info.name,
      found: said.length ? `${said.length} tracks of few bits, whose words cannot be told` : 'no track of few bits',
      next: 'where you know the tracks, name them: --join 1+5,2+6 (upper first)',
    });
  }
  const pairs = how.split(',').map((text) => {
    const match = /^\s*(\d+)\s*\+\s*(\d+)\s*$/.exec(text);
    const [upper, lower] = match ? [Number(match[1]), Number(match[2])] : [0, 0];
    if (match && upper !== lower && [upper, lower].every((one) => one >= 1 && one <= info.channels)) {
      const verdict = said.find(({ channel }) => channel === lower);
      if (verdict) return pairOf(verdict, upper);
      throw new TapeproofError('input', `channel ${lower} cannot hold the lower bits of another`, {
        path: info.name,
        expected: 'a track that sounds like noise and moves in 3 to 10 bits only',
        next: 'check which tracks belong together: upper first, as in 1+5',
      });
    }
    throw new TapeproofError('input', 'not a pair of tracks', {
      expected: `found, or upper+lower with channels from 1 to ${info.channels}, as in 1+5,2+6`,
      found: text,
    });
  });
  return unique(pairs);
}

function pairOf({ channel, evidence }: Verdict, upper: number): SplitPair {
  const tests = Array.isArray(evidence.tests) ? evidence.tests : [];
  const own = tests.find((one) => typeof one === 'object' && one !== null && 'upper' in one && one.upper === upper);
  if (typeof own !== 'object' || own === null || !('upperShift' in own)) {
    throw new TapeproofError('input', `channel ${upper} cannot hold upper bits`, {
      expected: 'a track with sound in all of its word',
      next: 'name the track with the upper bits first, as in 1+5',
    });
  }
  return {
    ...{ upper, lower: channel, lowerBits: Number(evidence.lowerBits), lowerShift: Number(evidence.lowerShift) },
    ...{ upperShift: Number(own.upperShift), isSigned: own.isSigned === true },
  };
}

function unique(pairs: readonly SplitPair[]): SplitPair[] {
  const used = pairs.flatMap(({ upper, lower }) => [upper, lower]);
  const twice = used.find((channel, i) => used.indexOf(channel) !== i);
  if (twice === undefined) return [...pairs];
  throw new TapeproofError('input', `channel ${twice} stands in two pairs`, { next: 'name each channel once' });
}

/** `how`: "measured", or samples for each pair. Pairs count the channels that are left after joining. */
export function chosenDelays(
  how: string,
  verdicts: readonly Verdict[],
  info: FrameInfo,
  joined: readonly SplitPair[],
): number[] {
  const count = (info.channels - joined.length) >> 1;
  if (count === 0) throw new TapeproofError('input', 'a delay within pairs needs two channels', { path: info.name });
  if (how !== 'measured') return declaredDelays(how, count);
  if (joined.length > 0) {
    throw new TapeproofError('unsupported', 'a measured delay together with joined words', {
      next: 'join the words first, then correct the delay of the joined file',
    });
  }
  const delays = Array.from({ length: count }, (_, p) => {
    const verdict = verdicts.find(({ question, channel }) => question === 'skew' && channel === 2 * p + 2);
    return typeof verdict?.answer === 'number' ? shown(verdict) : 0;
  });
  if (delays.some((delay) => delay !== 0)) return delays;
  throw new TapeproofError('input', 'no delay within a pair was measured', {
    path: info.name,
    found: verdicts
      .flatMap(({ question, channel, answer }) => (question === 'skew' ? [`channel ${channel}: ${answer}`] : []))
      .join(', '),
    next: 'where you know it, declare it: --skew -0.5 (the second channel half a sample early)',
  });
}

/** No delay beyond its uncertainty is no delay; half a sample within it is half a sample. */
function shown({ answer, evidence }: Verdict): number {
  if (evidence.isHalfSample === true) return Math.sign(Number(answer)) * 0.5;
  return Math.abs(Number(answer)) <= Number(evidence.uncertainty) ? 0 : Number(answer);
}

function declaredDelays(how: string, count: number): number[] {
  const parts = how.split(',').map((text) => (text.trim() === '' ? Number.NaN : Number(text)));
  const isRight = parts.every((one) => Math.abs(one) <= MOST_SAMPLES) && (parts.length === 1 || parts.length === count);
  if (isRight && parts.some((one) => one !== 0)) {
    return Array.from({ length: count }, (_, p) => (parts.length === 1 ? parts[0] : parts[p]));
  }
  throw new TapeproofError('input', 'not a delay within pairs', {
    expected: `measured, or samples from -${MOST_SAMPLES} to ${MOST_SAMPLES}: one number for all pairs, or ${count} with commas`,
    found: how,
  });
}

/** The capture's own code, or the whole numbers that were named. Throws `input`. */
export function chosenCodes(text: string, { name, lostValue, bits }: FrameInfo): number[] {
  if (text === 'tape') {
    if (lostValue !== undefined) return [lostValue];
    throw new TapeproofError('input', 'this capture has no code for "no valid sample"', {
      path: name,
      expected: 'a DV stream',
      next: 'for a master made of DV reads name the sample: --cover -32768 (16-bit sound) or --cover -32705 (12-bit sound)',
    });
  }
  const most = 2 ** (bits - 1);
  const codes = text.split(',').map((part) => (/^-?\d+$/.test(part.trim()) ? Number(part) : Number.NaN));
  if (codes.every((code) => code >= -most && code < most)) return codes;
  const expected = `tape, or samples of ${bits} bits, as in -32768 or -32768,-32705`;
  throw new TapeproofError('input', 'not a sample that could stand for "no valid sample"', { expected, found: text });
}
