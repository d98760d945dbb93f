// Makes a fresh clone ready: npm packages, build and (with --tests) the tests' checkers and recordings. Needs nothing but
// Node 18 or newer, npm and, for --tests, apt. Silent and quick when there is nothing to do; exit 1 with the reason when it
// fails. A checker that cannot be had is no failure here: its tests skip with a reason, and fail under CI=true.
import { dirname, resolve } from 'node:path';
import { fileURLToPath } from 'node:url';
import { withLock } from './lock.mjs';
import { build, buildIsCurrent } from './setup-build.mjs';
import { installDebianPackages, missingDebianPackages } from './setup-debian.mjs';
import { fetchMusic, missingMusic } from './setup-music.mjs';
import { installNpmPackages, npmPackagesAreCurrent } from './setup-npm.mjs';

const root = resolve(dirname(fileURLToPath(import.meta.url)), '..');
const forTests = process.argv.includes('--tests');
const say = (line) => console.error(`setup: ${line}`);

const steps = [
  { isDone: () => npmPackagesAreCurrent(root), perform: () => installNpmPackages(root, say) },
  { isDone: () => buildIsCurrent(root), perform: () => build(root, say) },
  ...(forTests
    ? [
        { isDone: () => missingDebianPackages().length === 0, perform: () => installDebianPackages(say) },
        { isDone: () => missingMusic(root).length === 0, perform: () => fetchMusic(root, say) },
      ]
    : []),
];

function perform() {
  for (const step of steps) if (!step.isDone()) step.perform();
}

try {
  if (!steps.every((step) => step.isDone())) {
    withLock(resolve(root, '.cache/setup.lock'), perform, (pid) => say(`waiting for another set-up (process ${pid})`));
  }
} catch (error) {
  say(error.message);
  process.exit(1);
}
