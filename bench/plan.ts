// `npm run bench:plan`: processor time and proof of `plan` over benches of the sizes that occur: eight channels or six programmes, one to six
// recorders, one to three reads, one to three decks, every way of routing and joining. Writes perf/runs/<date>-<host>-plan/ (raw.csv, README.md).
import { mkdirSync, writeFileSync } from 'node:fs';
import { hostname } from 'node:os';
import { dirname, join, resolve } from 'node:path';
import { fileURLToPath } from 'node:url';
import { type Deck, makePlan, type PlanRequest, type Recorder } from '../src/plan/index.ts';
import { deck, freeOutputs, pairOutputs, recorder, request } from '../src/plan/testing/benches.ts';
import { describeMachine } from './machine.ts';

/** The best of these counts: others may be at work on the machine. */
const TURNS = 3;

interface Case {
  readonly name: string;
  readonly asked: PlanRequest;
}

const ROUTINGS: Readonly<Record<string, () => readonly Deck['outputs'][number][]>> = {
  'fixed pairs': () => pairOutputs(4),
  'one free pair': () => freeOutputs(1),
  'two free pairs': () => freeOutputs(2),
  'four free pairs': () => freeOutputs(4),
  switched: () =>
    [0, 1].map((k) => ({
      name: `bus ${k}`,
      kind: 'aes3',
      width: 2,
      choices: [
        [1, 2],
        [3, 4],
        [5, 6],
        [7, 8],
      ],
    })),
};

const RECORDERS: Readonly<Record<string, (count: number) => Recorder[]>> = {
  alike: (count) => Array.from({ length: count }, (_, i) => recorder(`r${i}`)),
  different: (count) =>
    Array.from({ length: count }, (_, i) => recorder(`r${i}`, { bits: [16 + 4 * (i % 3)], pairs: 1 + (i % 2) })),
  linked: (count) =>
    Array.from({ length: count }, (_, i) =>
      recorder(`r${i}`, { starts: i < 2 ? 'rack' : null, timecode: i % 2 === 0 }),
    ),
};

function eightChannels(): Case[] {
  return Object.entries(ROUTINGS).flatMap(([routing, outputs]) =>
    Object.entries(RECORDERS).flatMap(([kind, recorders]) =>
      [1, 2, 3, 4, 5, 6].flatMap((count) =>
        [1, 2, 3].flatMap((reads) =>
          [1, 2, 3].flatMap((decks) =>
            (['exact', 'timecode', 'none'] as const).map((joins): Case => {
              const own = Array.from({ length: decks }, (_, d) =>
                deck(`d${d}`, d === 2 ? pairOutputs(4) : outputs(), { wear: 1 + d / 10, timecode: d !== 1 }),
              );
              const spec = { decks: own, recorders: recorders(count), reads, rules: { join: joins } };
              return {
                name: `${routing}; ${count} ${kind}; ${reads} reads; ${decks} decks; ${joins}`,
                asked: request(spec),
              };
            }),
          ),
        ),
      ),
    ),
  );
}

function sixProgrammes(): Case[] {
  return [1, 2, 3].flatMap((reads) =>
    [1, 2, 3, 6].flatMap((count) =>
      [1, 2, 3].flatMap((decks) =>
        [null, 6 * reads, 6 * reads + 2].map((passes): Case => {
          const own = Array.from({ length: decks }, (_, d) =>
            deck(`d${d}`, freeOutputs(1 + (d % 2)), { wear: 1 + d / 10 }),
          );
          const rules = { passes, prefer: 'proof' as const };
          const spec = {
            decks: own,
            recorders: RECORDERS.different(count),
            reads,
            format: 'eight-mm-six-programmes-625',
            rules,
          };
          return {
            name: `six programmes; ${count} different; ${reads} reads; ${decks} decks; at most ${passes ?? 'any'}`,
            asked: request(spec),
          };
        }),
      ),
    ),
  );
}

function measured({ name, asked }: Case) {
  let least = Number.POSITIVE_INFINITY;
  let plan = makePlan(asked);
  for (let turn = 0; turn < TURNS; turn++) {
    const from = process.cpuUsage();
    plan = makePlan(asked);
    const { user, system } = process.cpuUsage(from);
    least = Math.min(least, (user + system) / 1000);
  }
  if ('reasons' in plan) return { name, milliseconds: least, isPlan: false, isExact: false, passes: 0 };
  return { name, milliseconds: least, isPlan: true, isExact: plan.proof.isExact, passes: plan.passes.length };
}

const cases = [...eightChannels(), ...sixProgrammes()];
const results = cases.map(measured);
const plans = results.filter(({ isPlan }) => isPlan);
const sorted = plans.map(({ milliseconds }) => milliseconds).sort((a, b) => a - b);
const worst = [...plans].sort((a, b) => b.milliseconds - a.milliseconds).slice(0, 8);
const share = (part: number) => sorted[Math.min(sorted.length - 1, Math.floor(part * sorted.length))].toFixed(1);
const root = resolve(dirname(fileURLToPath(import.meta.url)), '..');
const date = new Date().toISOString().slice(0, 10);
const out = join(root, 'perf/runs', `${date}-${hostname()}-plan`);
mkdirSync(out, { recursive: true });
const csv = results.map((one) => `"${one.name}",${one.milliseconds.toFixed(2)},${one.isExact},${one.passes}`);
writeFileSync(join(out, 'raw.csv'), ['bench,cpu_ms_best_of_three,exact,passes', ...csv, ''].join('\n'));
const lines = [
  `# plan: processor time and proof, ${date}`,
  '',
  `${cases.length} benches of the sizes that occur, ${plans.length} with a plan; each planned ${TURNS + 1} times in one process, the best of the last ${TURNS} counts (\`bench/plan.ts\`).`,
  '',
  `- proven to be the best: ${plans.filter(({ isExact }) => isExact).length} of ${plans.length}`,
  `- processor time, ms: median ${share(0.5)}, 95 of 100 within ${share(0.95)}, 99 of 100 within ${share(0.99)}, longest ${sorted[sorted.length - 1].toFixed(1)}`,
  `- over one second: ${sorted.filter((one) => one > 1000).length}`,
  '',
  'The longest:',
  '',
  ...worst.map(
    ({ name, milliseconds, isExact }) => `- ${milliseconds.toFixed(0)} ms${isExact ? '' : ', not proven'}: ${name}`,
  ),
  '',
  ...describeMachine(root, process.execPath)
    .filter(([name]) => ['processor', 'load of other work when begun', 'system', 'node', 'tapeproof'].includes(name))
    .map(([name, value]) => `- ${name}: ${value}`),
  '',
];
writeFileSync(join(out, 'README.md'), lines.join('\n'));
console.log(lines.join('\n'));
