// Where the time of one run goes: the CPU profile that Node writes, summed by function. Self time: without what it calls.
import { spawnSync } from 'node:child_process';
import { mkdtempSync, readdirSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';

export interface SelfTime {
  readonly name: string;
  readonly share: number;
  readonly seconds: number;
}

interface Profile {
  readonly nodes: readonly {
    readonly id: number;
    readonly callFrame: { readonly functionName: string; readonly url: string; readonly lineNumber: number };
  }[];
  readonly samples: readonly number[];
  readonly timeDeltas: readonly number[];
}

/** Runs the script with Node's profiler on; functions by falling self time. The main thread only. */
export function profileOf(node: string, args: readonly string[]): SelfTime[] {
  const folder = mkdtempSync(join(tmpdir(), 'tapeproof-profile-'));
  try {
    spawnSync(node, ['--cpu-prof', '--cpu-prof-dir', folder, ...args], { stdio: 'ignore' });
    const profiles = readdirSync(folder).map((name) => JSON.parse(readFileSync(join(folder, name), 'utf8')) as Profile);
    const main = profiles.sort((a, b) => b.samples.length - a.samples.length)[0];
    return main ? selfTimes(main) : [];
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

function selfTimes({ nodes, samples, timeDeltas }: Profile): SelfTime[] {
  const names = new Map(nodes.map(({ id, callFrame }) => [id, nameOf(callFrame)]));
  const micros = new Map<string, number>();
  for (const [i, id] of samples.entries()) {
    const name = names.get(id) ?? '?';
    micros.set(name, (micros.get(name) ?? 0) + timeDeltas[i]);
  }
  const total = [...micros.values()].reduce((sum, one) => sum + one, 0);
  return [...micros]
    .map(([name, one]) => ({ name, share: one / total, seconds: one / 1e6 }))
    .sort((a, b) => b.share - a.share);
}

function nameOf({ functionName, url }: Profile['nodes'][number]['callFrame']): string {
  const file = url
    .split('/dist/')
    .at(-1)
    ?.replace(/^file:.*\//, '');
  return `${functionName || '(anonymous)'}${file ? ` (${file})` : ''}`;
}
