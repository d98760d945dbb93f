// The set-up lock under contention: lost updates of a counter file would show that two processes were inside at once.
import { spawn } from 'node:child_process';
import { existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';

const CONTENDERS = 6;
const ROUNDS = 20;
const lockModule = new URL('./lock.mjs', import.meta.url).href;

let folder = '';
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'tapeproof-lock-'));
  writeFileSync(join(folder, 'counter'), '0');
});
afterEach(() => rmSync(folder, { recursive: true, force: true }));

/** A process that reads the counter, dawdles, and writes it one higher, `rounds` times. */
function contend(rounds: number): Promise<number | null> {
  const program = `
    import { readFileSync, writeFileSync } from 'node:fs';
    import { withLock } from ${JSON.stringify(lockModule)};
    const counter = ${JSON.stringify(join(folder, 'counter'))};
    for (let i = 0; i < ${rounds}; i++) withLock(${JSON.stringify(join(folder, 'lock'))}, () => {
      const seen = Number(readFileSync(counter, 'utf8'));
      Atomics.wait(new Int32Array(new SharedArrayBuffer(4)), 0, 0, 2);
      writeFileSync(counter, String(seen + 1));
    });`;
  const child = spawn(process.execPath, ['--input-type=module', '-e', program], { stdio: 'inherit' });
  return new Promise((done) => child.on('close', done));
}

describe('withLock', () => {
  it('lets one process in at a time', async () => {
    const codes = await Promise.all(Array.from({ length: CONTENDERS }, () => contend(ROUNDS)));
    expect(codes.every((code) => code === 0)).toBe(true);
    expect(Number(readFileSync(join(folder, 'counter'), 'utf8'))).toBe(CONTENDERS * ROUNDS);
    expect(existsSync(join(folder, 'lock'))).toBe(false);
  });

  it('takes over the lock of a process that is gone', async () => {
    const gone = spawn(process.execPath, ['-e', '']);
    await new Promise((done) => gone.on('close', done));
    writeFileSync(join(folder, 'lock'), String(gone.pid));
    const codes = await Promise.all([contend(1), contend(1), contend(1)]);
    expect(codes).toEqual([0, 0, 0]);
    expect(Number(readFileSync(join(folder, 'counter'), 'utf8'))).toBe(3);
  });
});
