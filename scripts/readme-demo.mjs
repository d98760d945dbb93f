// Puts what the demo prints today between the two markers of README.md, so that the page never shows an invented result.
// Refuses when the demo does not agree with its own truth. Run after a change that moves a number.
import { spawnSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join, resolve } from 'node:path';

const root = resolve(import.meta.dirname, '..');
const page = join(root, 'README.md');
const [OPEN, CLOSE] = ['<!-- demo output -->', '<!-- end of demo output -->'];

const work = mkdtempSync(join(tmpdir(), 'tapeproof-readme-'));
try {
  const args = [join(root, 'bin/tapeproof.mjs'), 'demo', '--quiet', '--out', 'demo'];
  const ran = spawnSync(process.execPath, args, { cwd: work, encoding: 'utf8' });
  if (ran.status !== 0) throw new Error(`the demo ended with ${ran.status}:\n${ran.stdout}${ran.stderr}`);
  const text = readFileSync(page, 'utf8');
  const [from, to] = [text.indexOf(OPEN) + OPEN.length, text.indexOf(CLOSE)];
  if (to < from) throw new Error(`README.md lacks ${OPEN} … ${CLOSE}`);
  writeFileSync(page, `${text.slice(0, from)}\n\n\`\`\`\n${ran.stdout.trimEnd()}\n\`\`\`\n\n${text.slice(to)}`);
} catch (error) {
  console.error(error.message);
  process.exitCode = 1;
} finally {
  rmSync(work, { recursive: true, force: true });
}
