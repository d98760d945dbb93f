// Installs the locked npm packages when they are missing or out of date, and makes sure that node_modules/.bin/node is new
// enough: the `node` development dependency carries one, so that a machine with an older Node can run everything.
import { spawnSync } from 'node:child_process';
import { createHash } from 'node:crypto';
import { existsSync, readFileSync, rmSync, symlinkSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';

const NODE_FLOOR = [22, 13];

const stampPath = (root) => join(root, 'node_modules/.tapeproof-stamp');
export const projectNode = (root) => join(root, 'node_modules/.bin/node');

export function npmPackagesAreCurrent(root) {
  return existsSync(projectNode(root)) && readText(stampPath(root)) === wantedStamp(root);
}

export function installNpmPackages(root, say) {
  if (!installedMatchesLock(root)) {
    say('installing npm packages');
    const verb = existsSync(join(root, 'package-lock.json')) ? 'ci' : 'install';
    runNpm(root, [verb, '--include=dev', '--no-audit', '--no-fund', '--loglevel=error']);
  }
  ensureProjectNode(root, say);
  writeFileSync(stampPath(root), wantedStamp(root));
}

/** What the installed packages depend on. Not the Node that runs this: no package here is tied to its version. */
function wantedStamp(root) {
  const { dependencies, devDependencies, overrides, allowScripts } = JSON.parse(readText(join(root, 'package.json')));
  const wanted = JSON.stringify({ dependencies, devDependencies, overrides, allowScripts });
  const hash = createHash('sha256')
    .update(wanted)
    .update(readText(join(root, 'package-lock.json')) ?? '');
  return `${hash.digest('hex')} ${process.platform}-${process.arch}\n`;
}

/** True when somebody ran npm by hand and everything locked is there; npm notes what it installed when it is finished. */
function installedMatchesLock(root) {
  const lock = readText(join(root, 'package-lock.json'));
  const installed = readText(join(root, 'node_modules/.package-lock.json'));
  if (!lock || !installed) return false;
  const have = JSON.parse(installed).packages;
  return Object.entries(JSON.parse(lock).packages).every(
    ([path, entry]) => path === '' || entry.optional || have[path]?.version === entry.version,
  );
}

function ensureProjectNode(root, say) {
  if (isNewEnough(versionOf(projectNode(root)))) return;
  say('node_modules/.bin/node is missing or old; asking npm to make it');
  runNpm(root, ['rebuild', 'node', '--loglevel=error']);
  if (isNewEnough(versionOf(projectNode(root)))) return;
  if (isNewEnough(process.versions.node)) {
    rmSync(projectNode(root), { force: true });
    symlinkSync(process.execPath, projectNode(root));
    return;
  }
  throw new Error(
    `needs Node ${NODE_FLOOR.join('.')} or newer; this machine's is ${process.versions.node}, and the npm package "node" could ` +
      'not provide one (its install script may be forbidden: see allowScripts in package.json). Install a newer Node and try again.',
  );
}

function versionOf(node) {
  const ran = spawnSync(node, ['--version'], { encoding: 'utf8' });
  return ran.status === 0 ? ran.stdout.trim().slice(1) : undefined;
}

export function isNewEnough(version) {
  const [major, minor] = (version ?? '0.0').split('.').map(Number);
  return major > NODE_FLOOR[0] || (major === NODE_FLOOR[0] && minor >= NODE_FLOOR[1]);
}

function runNpm(root, args) {
  const ran = spawnSync('npm', args, { cwd: root, stdio: ['ignore', 2, 2] });
  if (ran.status !== 0) {
    throw new Error(
      `\`npm ${args[0]}\` failed${ran.error ? `: ${ran.error.message}` : ''}; is the registry reachable?`,
    );
  }
}

function readText(path) {
  return existsSync(path) ? readFileSync(path, 'utf8') : undefined;
}
