// Builds dist/ when a source or a compiler setting changed since the last build (by content, so that a fresh checkout with
// equal text builds once), and removes output whose source is gone.
import { spawnSync } from 'node:child_process';
import { createHash } from 'node:crypto';
import { existsSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { join, relative } from 'node:path';
import { projectNode } from './setup-npm.mjs';

const OUTPUT = /\.(?:js|d\.ts)$/;

export function buildIsCurrent(root) {
  const stamp = join(root, 'dist/.build-stamp');
  return existsSync(stamp) && readFileSync(stamp, 'utf8') === sourceDigest(root);
}

export function build(root, say) {
  say('building');
  renewKernels(root);
  const digest = sourceDigest(root);
  const ran = spawnSync(projectNode(root), [join(root, 'node_modules/typescript/bin/tsc'), '-b'], {
    cwd: root,
    stdio: ['ignore', 2, 2],
  });
  if (ran.status !== 0) throw new Error('the build failed; the compiler says why above');
  removeOrphans(root);
  writeFileSync(join(root, 'dist/.build-stamp'), digest);
}

/** In a process of its own: the compiler of the kernels is large, and set-up runs on Node versions it may not know. */
function renewKernels(root) {
  const ran = spawnSync(projectNode(root), [join(root, 'scripts/wasm.mjs')], {
    cwd: root,
    stdio: ['ignore', 2, 2],
  });
  if (ran.status !== 0) throw new Error('the kernels could not be compiled; the reason stands above');
}

function sourceDigest(root) {
  const hash = createHash('sha256');
  const configs = readdirSync(root).filter((name) => /^tsconfig.*\.json$/.test(name));
  for (const path of [...configs.map((name) => join(root, name)), ...builtSources(root)].sort()) {
    hash.update(relative(root, path)).update('\0').update(readFileSync(path)).update('\0');
  }
  return hash.digest('hex');
}

function builtSources(root) {
  return filesUnder(join(root, 'src')).filter(
    (path) => path.endsWith('.ts') && !path.endsWith('.test.ts') && !path.includes('/testing/'),
  );
}

function removeOrphans(root) {
  const dist = join(root, 'dist');
  for (const path of filesUnder(dist)) {
    const source = join(root, 'src', relative(dist, path).replace(OUTPUT, '.ts'));
    if (OUTPUT.test(path) && !existsSync(source)) rmSync(path);
  }
}

function filesUnder(folder) {
  return readdirSync(folder, { withFileTypes: true }).flatMap((entry) => {
    const path = join(folder, entry.name);
    return entry.isDirectory() ? filesUnder(path) : [path];
  });
}
