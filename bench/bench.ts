// `npm run bench`: how fast and how large, against other programs on the same files in the same run. Writes
// perf/runs/<date>-<host>/. Not a test: times belong to a machine. Options: --minutes N (20), --long (108), --quick (one turn
// instead of three), --runs N, --out FOLDER.
import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { hostname } from 'node:os';
import { dirname, join, resolve } from 'node:path';
import { fileURLToPath } from 'node:url';
import { parseArgs } from 'node:util';
import { barsOf } from './bars.ts';
import { commandsFor, type Paths } from './commands.ts';
import { describeMachine } from './machine.ts';
import { measure } from './measure.ts';
import { profileOf } from './profile.ts';
import { type Measured, mediansOf, rawCsv, readme } from './report.ts';
import { makeTape } from './tape.ts';

/** memory is compared with a tape of this length */
const SHORT_MINUTES = 5;
const LONG_MINUTES = 108;

const root = resolve(dirname(fileURLToPath(import.meta.url)), '..');
const node = join(root, 'node_modules/.bin/node');
const cache = join(root, '.cache/bench');
const say = (line: string) => console.error(`bench: ${line}`);

const { values: options } = parseArgs({
  options: {
    minutes: { type: 'string', default: '20' },
    long: { type: 'boolean', default: false },
    quick: { type: 'boolean', default: false },
    runs: { type: 'string', default: '3' },
    out: { type: 'string' },
  },
});
const minutes = options.long ? LONG_MINUTES : Number(options.minutes);
const times = options.quick ? 1 : Number(options.runs);
if (!(minutes >= 1 && Number.isInteger(minutes) && times >= 1))
  throw new Error('--minutes and --runs are whole numbers');

async function measureTape(length: number, isWanted: (id: string) => boolean): Promise<Measured[]> {
  const tape = await makeTape(cache, length, say);
  const measured: Measured[] = [];
  const out = mkdtempSync(join(cache, 'out-'));
  const paths: Paths = { root, node, out };
  try {
    for (const command of commandsFor(tape, paths).filter(({ id }) => isWanted(id))) {
      const result = await measure(command, times);
      say(`${length} min: ${command.id}: ${result.median.wallSeconds.toFixed(2)} s`);
      measured.push({ minutes: length, command, ...result });
      rmSync(join(out, 'copy.wav'), { force: true });
      rmSync(join(out, 'result'), { recursive: true, force: true });
    }
  } finally {
    rmSync(out, { recursive: true, force: true });
  }
  return measured;
}

const isOurs = (id: string) => ['examine', 'align', 'run'].includes(id);
mkdirSync(cache, { recursive: true });
const machine = describeMachine(root, node);
const measured = [
  ...(minutes === SHORT_MINUTES ? [] : await measureTape(SHORT_MINUTES, isOurs)),
  ...(await measureTape(minutes, () => true)),
];
const date = new Date().toISOString().slice(0, 10);
const profiled = await makeTape(cache, SHORT_MINUTES, say);
const out = mkdtempSync(join(cache, 'out-'));
const profiles = commandsFor(profiled, { root, node, out })
  .filter(({ id }) => isOurs(id))
  .map(({ id, args }) => ({
    title: `${id} (tape of ${SHORT_MINUTES} minutes)`,
    functions: profileOf(node, args),
  }));
rmSync(out, { recursive: true, force: true });
const folder = options.out ?? join(root, 'perf/runs', `${date}-${hostname()}`);
mkdirSync(folder, { recursive: true });
writeFileSync(join(folder, 'raw.csv'), rawCsv(measured));
const bars = barsOf(mediansOf(measured, minutes), mediansOf(measured, SHORT_MINUTES));
writeFileSync(join(folder, 'README.md'), readme({ date, machine, minutes, times, measured, bars, profiles }));
for (const { what, bar, measured: value, passed } of bars) {
  say(`${passed === undefined ? 'not measured' : passed ? 'pass' : 'FAIL'}: ${what}: ${value} (bar ${bar})`);
}
say(`written to ${folder}`);
