// Real recorded music and speech for the tests, out of Debian packages that are downloaded and unpacked but never
// installed: .cache/music/<package>/usr/share/… Needs no root. What cannot be had is told; its tests skip with a reason.
import { spawnSync } from 'node:child_process';
import { existsSync, mkdirSync, readdirSync, renameSync, rmSync } from 'node:fs';
import { join } from 'node:path';
import { MUSIC } from './debian-packages.mjs';
import { updateLists } from './setup-debian.mjs';

const musicFolder = (root) => join(root, '.cache/music');

export function missingMusic(root) {
  return MUSIC.filter((name) => !existsSync(join(musicFolder(root), name)));
}

export function fetchMusic(root, say) {
  say('getting recordings for the tests (70 MB, once)');
  for (const name of missingMusic(root)) {
    if (fetchPackage(root, name)) continue;
    updateLists();
    if (!fetchPackage(root, name)) say(`could not get ${name}; tests that need its recordings will skip`);
  }
}

/** Unpacked aside and renamed when complete, so that a killed set-up leaves nothing half done under the final name. */
function fetchPackage(root, name) {
  const aside = join(musicFolder(root), `.${name}.part`);
  rmSync(aside, { recursive: true, force: true });
  mkdirSync(aside, { recursive: true });
  spawnSync('apt-get', ['download', '-q', name], { cwd: aside, stdio: 'ignore' });
  const deb = readdirSync(aside).find((file) => file.endsWith('.deb'));
  const unpacked = join(aside, 'unpacked');
  const done = deb !== undefined && spawnSync('dpkg', ['-x', join(aside, deb), unpacked]).status === 0;
  if (done) renameSync(unpacked, join(musicFolder(root), name));
  rmSync(aside, { recursive: true, force: true });
  return done;
}
