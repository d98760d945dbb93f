// What is measured on a tape: other people's programs as yardsticks, and ours. All on the same files in the same run.
import { existsSync } from 'node:fs';
import { delimiter, join } from 'node:path';
import type { CommandLine } from './measure.ts';
import type { BenchTape } from './tape.ts';

export interface Paths {
  readonly root: string;
  readonly node: string;
  readonly out: string;
}

/** One channel of both reads correlated by FFT, the common way to find an offset; the first ten minutes at most. */
const SCIPY = `
import sys, numpy as np
from scipy.signal import correlate
def channel(path):
    start = open(path, 'rb').read(4096).index(b'data') + 8
    raw = np.memmap(path, np.uint8, 'r', offset=start)
    n = min(len(raw) // 24, 28800000)
    b = raw[:n * 24].reshape(n, 24)[:, :3].astype(np.int32)
    return (((b[:, 0] << 8) | (b[:, 1] << 16) | (b[:, 2] << 24)) >> 8).astype(np.float32)
a, b = channel(sys.argv[1]), channel(sys.argv[2])
print(int(np.argmax(correlate(a, b, method='fft'))) - len(b) + 1)
`;

export function commandsFor({ reads: [a, b], sheet }: BenchTape, { root, node, out }: Paths): CommandLine[] {
  const ours = (id: string, ...args: string[]): CommandLine => ({
    id,
    program: node,
    args: [join(root, 'bin/tapeproof.mjs'), ...args],
    fine: [0, 1],
  });
  const other = (id: string, program: string, ...args: string[]): CommandLine => ({ id, program, args, fine: [0] });
  const ffmpeg = ['-hide_banner', '-nostdin', '-loglevel', 'error', '-i', a];
  return [
    other('read A B', 'cat', a, b),
    other('copy', 'cp', a, join(out, 'copy.wav')),
    other('sha256sum', 'sha256sum', a),
    other('ffmpeg decode', 'ffmpeg', ...ffmpeg, '-f', 'null', '-'),
    other('ffmpeg ebur128', 'ffmpeg', ...ffmpeg, '-af', 'ebur128=peak=true', '-f', 'null', '-'),
    other('sox stats', 'sox', a, '-n', 'stats'),
    other('scipy correlation', 'python3', '-c', SCIPY, a, b),
    ours('examine', 'examine', a, '--json', '--quiet'),
    ours('align', 'align', a, b, '--json', '--quiet'),
    ours('run', 'run', sheet, '--out', join(out, 'result'), '--json', '--quiet'),
    ours('help', '--help'),
  ].filter(({ program }) => isInstalled(program));
}

function isInstalled(program: string): boolean {
  if (program.includes('/')) return existsSync(program);
  return (process.env.PATH ?? '').split(delimiter).some((folder) => existsSync(join(folder, program)));
}
