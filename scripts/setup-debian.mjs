// Gets the tests' independent checkers from Debian: as root through apt-get, otherwise by naming what is missing.
// A failure here is told but stops nothing: tests without their checker skip with a reason (and fail under CI=true).
import { spawnSync } from 'node:child_process';
import { CHECKERS } from './debian-packages.mjs';

const APT = ['-o', 'DPkg::Lock::Timeout=400', '-q'];

export function missingDebianPackages() {
  const wanted = Object.keys(CHECKERS);
  // biome-ignore lint/suspicious/noTemplateCurlyInString: dpkg's own placeholders
  const asked = spawnSync('dpkg-query', ['-W', '-f', '${Package} ${db:Status-Status}\n', ...wanted], {
    encoding: 'utf8',
  });
  const installed = new Set((asked.stdout ?? '').split('\n').filter((line) => line.endsWith(' installed')));
  return wanted.filter((name) => !installed.has(`${name} installed`));
}

export function installDebianPackages(say) {
  const missing = missingDebianPackages();
  const command = `apt-get install -y --no-install-recommends ${missing.join(' ')}`;
  if (!canInstall()) {
    say(`checkers missing; their tests will skip. Install them with: sudo ${command}`);
    return;
  }
  say(`installing Debian packages for the tests: ${missing.join(' ')}`);
  updateLists();
  apt(['install', '-y', '--no-install-recommends', ...missing]);
  const left = missingDebianPackages();
  if (left.length > 0) say(`could not install ${left.join(' ')}; tests that need them will skip`);
}

/** Once per run: lists on a fresh image are empty or old. */
let updated = false;
export function updateLists() {
  if (!updated && canInstall()) apt(['update']);
  updated = true;
}

function canInstall() {
  return process.getuid?.() === 0 && spawnSync('apt-get', ['--version']).status === 0;
}

function apt(args) {
  spawnSync('apt-get', [...APT, ...args], {
    stdio: ['ignore', 'ignore', 2],
    env: { ...process.env, DEBIAN_FRONTEND: 'noninteractive' },
  });
}
