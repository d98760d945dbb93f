// Proves that the packed tarball is the product: packs it, installs it in an empty folder (dependencies from the registry)
// and runs the demo there. Exit 1 with the reason when something is missing.
import { spawnSync } from 'node:child_process';
import { existsSync, mkdirSync, mkdtempSync, readdirSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { delimiter, dirname, join, resolve } from 'node:path';
import { fileURLToPath } from 'node:url';

const root = resolve(dirname(fileURLToPath(import.meta.url)), '..');
const MAX_TARBALL_BYTES = 5_000_000;
const MUST_SHIP = ['README.md', 'LICENSE', 'CHANGELOG.md', 'docs/exit-codes.md', 'docs/json.md', 'docs/licences.md'];
const DEMO_LEAVES = ['master.wav', 'report.json', 'report.txt', 'report.html', 'edit-list.json'];

function run(cwd, command, args) {
  const path = `${dirname(process.execPath)}${delimiter}${process.env.PATH}`;
  const ran = spawnSync(command, args, { cwd, encoding: 'utf8', env: { ...process.env, PATH: path, NO_COLOR: '1' } });
  const said = `${ran.stdout ?? ''}${ran.stderr ?? ''}`;
  if (ran.status !== 0) throw new Error(`${command} ${args.join(' ')}: exit ${ran.status ?? ran.error}\n${said}`);
  return ran.stdout;
}

function expect(truth, message) {
  if (!truth) throw new Error(message);
}

function pack(folder) {
  run(root, 'npm', ['pack', '--pack-destination', folder, '--loglevel=error']);
  const tarball = join(
    folder,
    readdirSync(folder).find((name) => name.endsWith('.tgz')),
  );
  const bytes = statSync(tarball).size;
  expect(bytes < MAX_TARBALL_BYTES, `the tarball has ${bytes} bytes, more than ${MAX_TARBALL_BYTES}`);
  return tarball;
}

function install(folder, tarball) {
  mkdirSync(folder);
  writeFileSync(join(folder, 'package.json'), '{ "private": true }\n');
  run(folder, 'npm', ['install', tarball, '--prefer-offline', '--no-audit', '--no-fund', '--loglevel=error']);
  const shipped = join(folder, 'node_modules/tapeproof');
  for (const name of MUST_SHIP) expect(existsSync(join(shipped, name)), `the tarball lacks ${name}`);
  const strays = readdirSync(shipped, { recursive: true }).filter((name) =>
    /\.(?:test\.(?:js|ts)|tsbuildinfo)$/.test(name),
  );
  expect(strays.length === 0, `the tarball carries ${strays.slice(0, 5).join(', ')}`);
}

const work = mkdtempSync(join(tmpdir(), 'tapeproof-pack-'));
try {
  const tarball = pack(work);
  const empty = join(work, 'empty');
  install(empty, tarball);
  const verb = join(empty, 'node_modules/.bin/tapeproof');
  expect(run(empty, verb, ['--help']).includes('reconcile'), '`tapeproof --help` does not list its verbs');
  run(empty, verb, ['demo', '--quiet', '--out', 'demo']);
  const left = readdirSync(join(empty, 'demo'), { recursive: true }).map((name) => name.split('/').at(-1));
  for (const name of DEMO_LEAVES) expect(left.includes(name), `the demo left no ${name}`);
  console.log(`packed tarball: ${statSync(tarball).size} bytes, installs and runs its demo`);
} catch (error) {
  console.error(error.message);
  process.exitCode = 1;
} finally {
  rmSync(work, { recursive: true, force: true });
}
