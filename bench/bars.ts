// The bars of the project (design, section 5) held against what was measured. Says pass or fail, never "nearly".
import type { Sample } from './measure.ts';

export type Medians = ReadonlyMap<string, Sample>;

export interface Bar {
  readonly what: string;
  readonly bar: string;
  readonly measured: string;
  /** undefined where it could not be measured */
  readonly passed: boolean | undefined;
}

const MEMORY_MIB = 400;

/** `short`: the same commands on a tape of five minutes, for the growth of memory. */
export function barsOf(medians: Medians, short: Medians): Bar[] {
  const wall = (id: string) => medians.get(id)?.wallSeconds ?? Number.NaN;
  const read = wall('read A B');
  const job = 4 * wall('sha256sum') + wall('copy');
  const peak = (id: string) => medians.get(id)?.peakMib ?? Number.NaN;
  return [
    ratio('examine against ffmpeg ebur128=peak=true', wall('examine') / wall('ffmpeg ebur128'), 1 / 3),
    ratio('the same, what is aimed at', wall('examine') / wall('ffmpeg ebur128'), 1 / 6),
    ratio('run against sha256 of both inputs twice + one copy', wall('run') / job, 1.5),
    under('align beyond reading both files, s', wall('align') - read, 5),
    under('help, ms', wall('help') * 1000, 150),
    ...['examine', 'align', 'run'].map((id) => under(`memory of ${id}, MiB`, peak(id), MEMORY_MIB)),
    ...['examine', 'align', 'run'].map((id) => growth(id, peak(id), short.get(id)?.peakMib)),
  ];
}

function ratio(what: string, value: number, most: number): Bar {
  return { what, bar: `<= ${most.toFixed(3)}`, measured: number(value, 3), passed: judged(value, value <= most) };
}

function under(what: string, value: number, most: number): Bar {
  return { what, bar: `< ${most}`, measured: number(value, 1), passed: judged(value, value < most) };
}

/** Memory that grows with the tape would pass any bar in the end: more than a tenth is called growth. */
function growth(id: string, peak: number, shortPeak = Number.NaN): Bar {
  const grown = peak / shortPeak - 1;
  return {
    what: `growth of memory of ${id} from 5 minutes on`,
    bar: '<= 10 %',
    measured: Number.isNaN(grown) ? 'not measured' : `${(grown * 100).toFixed(1)} %`,
    passed: judged(grown, grown <= 0.1),
  };
}

function judged(value: number, passed: boolean): boolean | undefined {
  return Number.isNaN(value) ? undefined : passed;
}

function number(value: number, digits: number): string {
  return Number.isNaN(value) ? 'not measured' : value.toFixed(digits);
}
