// What was measured on and with: processor, memory, system, versions of every program. No names of people or hosts beyond
// the host name, which only tells runs apart.
import { spawnSync } from 'node:child_process';
import { cpus, loadavg, release, totalmem } from 'node:os';

export function describeMachine(root: string, node: string): [string, string][] {
  return [
    ['processor', `${cpus().length} x ${cpus()[0]?.model.trim() ?? 'unknown'}`],
    ['memory', `${(totalmem() / 2 ** 30).toFixed(0)} GiB`],
    ['load of other work when begun', loadavg()[0].toFixed(1)],
    ['system', `${process.platform} ${release()}`],
    ['node', firstLine(node, '--version')],
    ['tapeproof', `${firstLine(node, `${root}/bin/tapeproof.mjs`, '--version')}, commit ${commitOf(root)}`],
    ['ffmpeg', firstLine('ffmpeg', '-version')],
    ['sox', firstLine('sox', '--version')],
    ['sha256sum', firstLine('sha256sum', '--version')],
    ['scipy', firstLine('python3', '-c', 'import scipy, numpy; print(scipy.__version__, "numpy", numpy.__version__)')],
  ];
}

function commitOf(root: string): string {
  const isClean = firstLine('git', '-C', root, 'status', '--porcelain', '--', 'src', 'bin') === '';
  return `${firstLine('git', '-C', root, 'rev-parse', '--short', 'HEAD')}${isClean ? '' : ' with changes'}`;
}

function firstLine(program: string, ...args: string[]): string {
  const ran = spawnSync(program, args, { encoding: 'utf8' });
  if (ran.error) return 'not installed';
  return ran.stdout.split('\n')[0].trim();
}
