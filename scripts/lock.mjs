// One set-up at a time in a working copy. A lock file holding a process id, created in one step by linking; a lock whose
// process is gone is taken over. Not for locking between machines.
import { linkSync, mkdirSync, readFileSync, renameSync, rmSync, writeFileSync } from 'node:fs';
import { dirname } from 'node:path';

const POLL_MS = 50;

/** Runs `work` while holding the lock at `path`; `onWait(pid)` is called once when another process holds it. */
export function withLock(path, work, onWait = () => {}) {
  mkdirSync(dirname(path), { recursive: true });
  for (let told = false; !tryTake(path); sleep(POLL_MS)) {
    const holder = holderOf(path);
    if (holder !== undefined && !isAlive(holder)) takeAside(path, holder);
    else if (holder !== undefined && !told) {
      told = true;
      onWait(holder);
    }
  }
  try {
    return work();
  } finally {
    rmSync(path, { force: true });
  }
}

function tryTake(path) {
  const own = `${path}.${process.pid}`;
  writeFileSync(own, String(process.pid));
  try {
    linkSync(own, path);
    return true;
  } catch (error) {
    if (error.code !== 'EEXIST') throw error;
    return false;
  } finally {
    rmSync(own, { force: true });
  }
}

function holderOf(path) {
  try {
    return Number(readFileSync(path, 'utf8'));
  } catch {
    return undefined;
  }
}

/** Moves a dead lock away; if another process took it over in between, its lock is put back. */
function takeAside(path, deadPid) {
  const aside = `${path}.dead.${process.pid}`;
  try {
    renameSync(path, aside);
    if (holderOf(aside) !== deadPid) linkSync(aside, path);
  } catch (error) {
    if (error.code !== 'ENOENT' && error.code !== 'EEXIST') throw error;
  } finally {
    rmSync(aside, { force: true });
  }
}

function isAlive(pid) {
  try {
    process.kill(pid, 0);
    return true;
  } catch (error) {
    return error.code === 'EPERM';
  }
}

function sleep(ms) {
  Atomics.wait(new Int32Array(new SharedArrayBuffer(4)), 0, 0, ms);
}
