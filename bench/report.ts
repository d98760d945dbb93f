// The bench's two pages: raw.csv with every run, README.md for people.
import type { Bar, Medians } from './bars.ts';
import type { CommandLine, Sample } from './measure.ts';
import type { SelfTime } from './profile.ts';

export interface Measured {
  readonly minutes: number;
  readonly command: CommandLine;
  readonly median: Sample;
  readonly all: readonly Sample[];
}

export interface BenchResult {
  readonly date: string;
  readonly machine: readonly (readonly [string, string])[];
  readonly minutes: number;
  readonly times: number;
  readonly measured: readonly Measured[];
  readonly bars: readonly Bar[];
  readonly profiles: readonly { readonly title: string; readonly functions: readonly SelfTime[] }[];
}

const FUNCTIONS_SHOWN = 20;

export function rawCsv(measured: readonly Measured[]): string {
  const rows = measured.flatMap(({ minutes, command, all }) =>
    all.map((one, k) =>
      [minutes, command.id, k + 1, one.wallSeconds, one.userSeconds, one.systemSeconds, one.peakMib]
        .map((cell) => (typeof cell === 'number' && !Number.isInteger(cell) ? cell.toFixed(3) : cell))
        .join(','),
    ),
  );
  return `${['minutes,command,turn,wall_s,user_s,system_s,peak_mib', ...rows].join('\n')}\n`;
}

export function readme(result: BenchResult): string {
  return [
    `# Bench of ${result.date}`,
    '',
    `A made tape of ${result.minutes} minutes, eight channels at 48 kHz / 24 bit, in two reads with different damage; files in the page`,
    `cache; median by wall time of ${result.times} run(s), all runs in [raw.csv](raw.csv). Made by \`npm run bench\`.`,
    '',
    '## Machine and versions',
    '',
    ...table(['what', 'which'], result.machine),
    '',
    '## Bars',
    '',
    ...table(
      ['what', 'bar', 'measured', 'passed'],
      result.bars.map((bar) => [bar.what, bar.bar, bar.measured, verdict(bar)]),
    ),
    '',
    '## Times and memory',
    '',
    ...lengths(result.measured).flatMap((minutes) => lengthTable(result, minutes)),
    '## Where the time goes',
    '',
    "Node's own profiler, main thread, self time: without what a function calls. Functions that were inlined count for their caller.",
    'Not in these tables, but in the user time above: the digests of inputs and masters (a thread of their own, `media/hashes.ts`),',
    'the detectors named in `tasks/side-messages.ts` (a second thread), reading and writing, compiling and collecting garbage.',
    '',
    ...result.profiles.flatMap(profileTable),
    '## Command lines',
    '',
    '```',
    ...commandLines(result.measured),
    '```',
    '',
  ].join('\n');
}

export function mediansOf(measured: readonly Measured[], minutes: number): Medians {
  return new Map(measured.filter((one) => one.minutes === minutes).map(({ command, median }) => [command.id, median]));
}

function verdict({ passed }: Bar): string {
  return passed === undefined ? 'not measured' : passed ? 'yes' : '**no**';
}

function lengths(measured: readonly Measured[]): number[] {
  return [...new Set(measured.map(({ minutes }) => minutes))].sort((a, b) => b - a);
}

/** x real time: of one read where a command takes one file, else of the tape. */
function lengthTable({ measured }: BenchResult, minutes: number): string[] {
  const medians = mediansOf(measured, minutes);
  const ebur = medians.get('ffmpeg ebur128')?.wallSeconds;
  const rows = [...medians].map(([id, one]) => [
    id,
    one.wallSeconds.toFixed(2),
    one.userSeconds.toFixed(2),
    one.systemSeconds.toFixed(2),
    one.peakMib.toFixed(0),
    id === 'help' ? '' : ((minutes * 60) / one.wallSeconds).toFixed(0),
    ebur ? (one.wallSeconds / ebur).toFixed(3) : '',
  ]);
  return [
    `Tape of ${minutes} minutes:`,
    '',
    ...table(['command', 'wall s', 'user s', 'system s', 'peak MiB', 'x real time', 'to ebur128'], rows),
    '',
  ];
}

function profileTable({ title, functions }: BenchResult['profiles'][number]): string[] {
  const rows = functions
    .slice(0, FUNCTIONS_SHOWN)
    .map(({ name, share, seconds }) => [name, `${(share * 100).toFixed(1)} %`, seconds.toFixed(2)]);
  return [`\`${title}\`:`, '', ...table(['function', 'share', 'seconds'], rows), ''];
}

function commandLines(measured: readonly Measured[]): string[] {
  const longest = lengths(measured)[0];
  return measured
    .filter(({ minutes }) => minutes === longest)
    .map(({ command }) => [command.program, ...command.args].map(short).join(' '));
}

/** Long programs given as an argument are named, not printed. */
function short(word: string): string {
  if (word.includes('\n')) return "'(bench/commands.ts)'";
  return word
    .replace(/^.*\/(?:node_modules\/\.bin\/|\.cache\/bench\/)/, '')
    .replace(/^.*\/bin\/tapeproof/, 'bin/tapeproof');
}

function table(head: readonly string[], rows: readonly (readonly string[])[]): string[] {
  const line = (cells: readonly string[]) => `| ${cells.join(' | ')} |`;
  return [line(head), line(head.map(() => '---')), ...rows.map(line)];
}
