// The whole check, in order: lint and format, types, layers, dead code, tests, packed tarball. Every step and every test
// counts once in the closing line "N passed, N failed". With arguments it runs only the tests they name (vitest filters).
import { spawnSync } from 'node:child_process';
import { mkdirSync, readFileSync, rmSync } from 'node:fs';
import { delimiter, dirname, join, resolve } from 'node:path';
import { fileURLToPath } from 'node:url';

const root = resolve(dirname(fileURLToPath(import.meta.url)), '..');
const bin = join(root, 'node_modules/.bin');
const report = join(root, '.cache/vitest.json');
const filters = process.argv.slice(2);
const totals = { passed: 0, failed: 0, skipped: 0 };

function run(title, command, args) {
  console.log(`\n== ${title}`);
  const ran = spawnSync(command, args, {
    cwd: root,
    stdio: 'inherit',
    env: { ...process.env, PATH: `${bin}${delimiter}${process.env.PATH}` },
  });
  if (ran.error) console.error(ran.error.message);
  return ran.status === 0;
}

function step(title, command, args) {
  const passed = run(title, command, args);
  totals[passed ? 'passed' : 'failed']++;
  if (!passed) console.error(`FAILED: ${title}`);
}

/** Test files that could not even be loaded count as one failure each; a runner that left no report counts as one. */
function tests() {
  mkdirSync(dirname(report), { recursive: true });
  rmSync(report, { force: true });
  const reporters = ['--reporter=default', '--reporter=json', `--outputFile.json=${report}`];
  const passed = run('tests', join(bin, 'vitest'), ['run', ...reporters, ...filters]);
  const found = readReport();
  totals.passed += found.numPassedTests;
  totals.skipped += found.numPendingTests + (found.numTodoTests ?? 0);
  const unloadable = found.testResults.filter((file) => file.status === 'failed' && file.assertionResults.length === 0);
  const failed = found.numFailedTests + unloadable.length;
  totals.failed += failed === 0 && !passed ? 1 : failed;
}

function readReport() {
  try {
    return JSON.parse(readFileSync(report, 'utf8'));
  } catch {
    return { numPassedTests: 0, numFailedTests: 0, numPendingTests: 0, testResults: [] };
  }
}

if (filters.length > 0) tests();
else {
  step('lint and format', join(bin, 'biome'), ['check', '--error-on-warnings', '.']);
  step('types of the product', join(bin, 'tsc'), ['-b']);
  step('types of the tests', join(bin, 'tsc'), ['-p', 'tsconfig.test.json']);
  step('layers', process.execPath, ['scripts/check-layers.mjs']);
  step('dead code', join(bin, 'knip'), []);
  tests();
  step('packed tarball', process.execPath, ['scripts/pack-test.mjs']);
}
const skips = totals.skipped > 0 ? `, ${totals.skipped} skipped` : '';
console.log(`\n${totals.passed} passed, ${totals.failed} failed${skips}`);
process.exitCode = totals.failed > 0 ? 1 : 0;
