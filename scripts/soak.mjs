// Long fuzzing of every reader: npm run soak -- --minutes N [--seed S]. Valid files of each container and whatever damaged ones
// behaved in a new way are damaged again and read. The reading runs in a child process that is ended when one file takes
// too long; an input that fails is kept in .cache/soak/failed with the seed that made it. Exit 1 when there was one.
import { spawn } from 'node:child_process';
import { copyFileSync, existsSync, mkdirSync, readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { dirname, join, resolve } from 'node:path';
import { fileURLToPath } from 'node:url';
import { parseArgs } from 'node:util';

const root = resolve(dirname(fileURLToPath(import.meta.url)), '..');
const folder = join(root, '.cache/soak');
const corpusFolder = join(folder, 'corpus');
const failedFolder = join(folder, 'failed');
/** the input being read; what is left of it after a crash is what crashed */
const current = join(folder, 'current');
const ROUNDS = 500;
/** one file that takes longer is a hang; it would take a few milliseconds */
const MOST_FILE_MS = 30_000;
const MOST_CORPUS = 3000;
const MOST_INPUT_BYTES = 1024 * 1024;

const { values } = parseArgs({
  options: { minutes: { type: 'string', default: '1' }, seed: { type: 'string' }, child: { type: 'boolean' } },
});
if (values.child) await readMany(Number(values.seed));
else process.exitCode = await soak(Number(values.minutes), Number(values.seed ?? Date.now() % 2 ** 31));

async function soak(minutes, firstSeed) {
  if (!(minutes > 0) || !Number.isInteger(firstSeed)) {
    console.error('usage: npm run soak -- --minutes N [--seed S], N above 0, S a whole number');
    return 2;
  }
  for (const path of [corpusFolder, failedFolder]) mkdirSync(path, { recursive: true });
  const end = Date.now() + minutes * 60_000;
  let [batches, failures] = [0, 0];
  for (let seed = firstSeed; Date.now() < end; seed += 1, batches++) {
    const why = await batch(seed);
    if (why === undefined) continue;
    failures++;
    const kept = join(failedFolder, `seed-${seed}-${Date.now()}`);
    if (existsSync(current)) copyFileSync(current, kept);
    writeFileSync(`${kept}.txt`, `seed ${seed}\n${why}\n`);
    console.error(`FAILED with seed ${seed}, input kept as ${kept}\n${why}`);
  }
  const corpus = readdirSync(corpusFolder).length;
  console.log(
    `${batches * ROUNDS} inputs from seed ${firstSeed}, ${corpus} kinds of behaviour in the corpus, ${failures} failed`,
  );
  return failures > 0 ? 1 : 0;
}

/** Undefined when all went well, otherwise what the child said. */
function batch(seed) {
  const child = spawn(process.execPath, [fileURLToPath(import.meta.url), '--child', '--seed', String(seed)], {
    cwd: root,
    stdio: ['ignore', 'pipe', 'pipe'],
  });
  return new Promise((done) => {
    let said = '';
    let timer;
    const wait = () => {
      clearTimeout(timer);
      timer = setTimeout(() => {
        said += `no end within ${MOST_FILE_MS / 1000} s`;
        child.kill('SIGKILL');
      }, MOST_FILE_MS);
    };
    wait();
    // The child prints a dot per file: that it lives.
    child.stdout.on('data', wait);
    child.stderr.on('data', (text) => {
      said += text;
    });
    child.on('close', (code) => {
      clearTimeout(timer);
      done(code === 0 ? undefined : said || `exit code ${code}`);
    });
  });
}

/** The child: damages and reads; keeps inputs that behave in a new way, so that damage can build upon damage. */
async function readMany(seed) {
  const { mutate, readOrRefuse, validFiles } = await import('../src/media/testing/fuzz.ts');
  const { tapeFiles } = await import('../src/media/testing/tape-files.ts');
  const { randomWords } = await import('../src/media/testing/signals.ts');
  const next = randomWords(seed + 1);
  const kept = readdirSync(corpusFolder);
  const known = new Set(kept);
  const pool = [
    ...validFiles().values(),
    ...tapeFiles(),
    ...kept.map((name) => readFileSync(join(corpusFolder, name))),
  ];
  for (let i = 0; i < ROUNDS; i++) {
    const input = mutate(pool[(next() >>> 0) % pool.length], next);
    if (input.length > MOST_INPUT_BYTES) continue;
    writeFileSync(current, input);
    const name = (await readOrRefuse(current)).replace(/[^a-z0-9]+/gi, '-').slice(0, 200);
    process.stdout.write('.');
    if (known.has(name) || known.size >= MOST_CORPUS) continue;
    known.add(name);
    pool.push(input);
    writeFileSync(join(corpusFolder, name), input);
  }
}
