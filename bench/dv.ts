// `npm run bench:dv`: how fast a DV stream is read, against ffmpeg on the same file in the same run, and whether memory grows with its
// length. Writes perf/runs/<date>-<host>-dv/. Options: --minutes N (5), --runs N (3). Not a test: times belong to a machine.
import { existsSync } from 'node:fs';
import { mkdir, open, rename, writeFile } from 'node:fs/promises';
import { hostname } from 'node:os';
import { dirname, join, resolve } from 'node:path';
import { fileURLToPath } from 'node:url';
import { parseArgs } from 'node:util';
import { codeTrack } from '../src/media/testing/dv-damage.ts';
import { countsOf, dvStream, total } from '../src/media/testing/dv-stream.ts';
import { randomWords } from '../src/media/testing/signals.ts';
import { describeMachine } from './machine.ts';
import { type CommandLine, measure, type Sample } from './measure.ts';

const root = resolve(dirname(fileURLToPath(import.meta.url)), '..');
const node = join(root, 'node_modules/.bin/node');
const cache = join(root, '.cache/bench');
const say = (line: string) => console.error(`bench: ${line}`);
/** memory is compared with a stream of this length */
const SHORT_MINUTES = 1;
/** times real time, the bar of the project */
const LEAST_SPEED = 100;
const MOST_MIB = 400;
/** frames written at a time: ten seconds */
const PIECE = 300;

const { values: options } = parseArgs({
  options: { minutes: { type: 'string', default: '5' }, runs: { type: 'string', default: '3' } },
});
const minutes = Number(options.minutes);
const times = Number(options.runs);
if (!(minutes > SHORT_MINUTES && Number.isInteger(minutes) && times >= 1))
  throw new Error('--minutes (more than 1) and --runs are whole numbers');

/** 525 lines, 48 kHz, 16 bit; time code runs on; in one frame of a hundred a track is lost. Made once, kept in the cache. */
async function makeStream(length: number): Promise<string> {
  const path = join(cache, `stream-v1-${length}min.dv`);
  if (existsSync(path)) return path;
  say(`making ${path}`);
  await mkdir(cache, { recursive: true });
  const file = await open(`${path}.part`, 'w');
  const counts = countsOf(PIECE, 1601.6);
  const next = randomWords(525);
  const planes = [0, 1].map(() => Int32Array.from({ length: total(counts) }, () => next() >> 17));
  for (let done = 0; done < (length * 60 * 30_000) / 1001; done += PIECE) {
    const bytes = dvStream({ lines: 525, rateHz: 48_000, word: 16, planes, counts, timecode: done });
    for (let f = 0; f < PIECE; f += 100) codeTrack({ bytes, lines: 525, word: 16 }, f, (f / 100 + done / PIECE) % 10);
    await file.write(bytes);
  }
  await file.close();
  await rename(`${path}.part`, path);
  return path;
}

function commands(path: string): readonly CommandLine[] {
  const quiet = ['-hide_banner', '-nostdin', '-loglevel', 'error', '-i', path];
  return [
    { id: 'sha256sum', program: 'sha256sum', args: [path], fine: [0] },
    { id: 'ffmpeg decode', program: 'ffmpeg', args: [...quiet, '-map', '0:a', '-f', 'null', '-'], fine: [0] },
    { id: 'samples', program: node, args: [join(root, 'bench/read-capture.ts'), path, 'samples'], fine: [0] },
    { id: 'read', program: node, args: [join(root, 'bench/read-capture.ts'), path], fine: [0] },
    { id: 'examine', program: node, args: [join(root, 'bin/tapeproof.mjs'), 'examine', path, '-q'], fine: [0, 1] },
  ];
}

type Row = Sample & { readonly id: string; readonly minutes: number };

async function measureStream(length: number): Promise<Row[]> {
  const rows: Row[] = [];
  for (const command of commands(await makeStream(length))) {
    const { median } = await measure(command, times);
    say(`${length} min: ${command.id}: ${median.wallSeconds.toFixed(2)} s`);
    rows.push({ ...median, id: command.id, minutes: length });
  }
  return rows;
}

const rows = [...(await measureStream(SHORT_MINUTES)), ...(await measureStream(minutes))];
const find = (id: string, length = minutes) => {
  const row = rows.find((one) => one.id === id && one.minutes === length);
  if (!row) throw new Error(`${id} was not measured`);
  return row;
};
const cpu = ({ userSeconds, systemSeconds }: Sample) => userSeconds + systemSeconds;
const speed = (seconds: number) => (minutes * 60) / seconds;
const judged = (passed: boolean) => (passed ? 'yes' : '**no**');
const grown = find('read').peakMib / find('read', SHORT_MINUTES).peakMib - 1;
const bars = [
  [
    'read, times real time by processor time',
    `>= ${LEAST_SPEED}`,
    speed(cpu(find('read'))).toFixed(0),
    judged(speed(cpu(find('read'))) >= LEAST_SPEED),
  ],
  [
    'samples against ffmpeg decode, processor time',
    '-',
    (cpu(find('samples')) / cpu(find('ffmpeg decode'))).toFixed(2),
    '-',
  ],
  ['read against ffmpeg decode, processor time', '-', (cpu(find('read')) / cpu(find('ffmpeg decode'))).toFixed(2), '-'],
  ['memory of read, MiB', `< ${MOST_MIB}`, find('read').peakMib.toFixed(0), judged(find('read').peakMib < MOST_MIB)],
  [
    `growth of memory of read from ${SHORT_MINUTES} minute on`,
    '<= 10 %',
    `${(grown * 100).toFixed(1)} %`,
    judged(grown <= 0.1),
  ],
  ['examine, times real time by processor time', '-', speed(cpu(find('examine'))).toFixed(0), '-'],
];
const line = (cells: readonly string[]) => `| ${cells.join(' | ')} |`;
const table = (head: readonly string[], body: readonly (readonly string[])[]) =>
  [line(head), line(head.map(() => '---')), ...body.map(line)].join('\n');
const date = new Date().toISOString().slice(0, 10);
const folder = join(root, 'perf/runs', `${date}-${hostname()}-dv`);
const page = `# Bench of DV, ${date}

A made stream of ${minutes} minutes (525/60, 48 kHz, 16 bit, 120000 bytes a frame), a track lost in one frame of a hundred; in the page cache;
median by wall time of ${times} run(s). "samples" is decoding alone, "read" everything a verb reads: samples, both digests, concealment list,
time code, flags. ffmpeg decodes the sound only. Each of ours begins with starting Node. Made by \`npm run bench:dv\`.

${table(
  ['what', 'which'],
  describeMachine(root, node).map((row) => [...row]),
)}

${table(['what', 'bar', 'measured', 'passed'], bars)}

${table(
  ['minutes', 'command', 'wall s', 'user s', 'system s', 'peak MiB'],
  rows.map((row) => [
    `${row.minutes}`,
    row.id,
    row.wallSeconds.toFixed(2),
    row.userSeconds.toFixed(2),
    row.systemSeconds.toFixed(2),
    row.peakMib.toFixed(0),
  ]),
)}
`;
await mkdir(folder, { recursive: true });
await writeFile(join(folder, 'README.md'), page);
for (const [what, bar, value, passed] of bars) say(`${what}: ${value} (bar ${bar}): ${passed}`);
say(`written to ${folder}`);
