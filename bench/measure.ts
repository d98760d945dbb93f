// One command, measured: wall time, processor time and the most memory it held. Uses GNU time where it is installed; else
// /proc is read every 20 ms, which may miss the very last moments.
import { spawn } from 'node:child_process';
import { existsSync, readFileSync } from 'node:fs';

export interface Sample {
  readonly wallSeconds: number;
  readonly userSeconds: number;
  readonly systemSeconds: number;
  readonly peakMib: number;
}

export interface CommandLine {
  readonly id: string;
  readonly program: string;
  readonly args: readonly string[];
  /** exit codes that mean it did its work */
  readonly fine: readonly number[];
}

const GNU_TIME = '/usr/bin/time';
const CLOCK_TICKS = 100;

/** Median by wall time of `times` runs, with all of them. Throws when the command fails. */
export async function measure(command: CommandLine, times: number): Promise<{ median: Sample; all: Sample[] }> {
  const all: Sample[] = [];
  for (let k = 0; k < times; k++) all.push(await once(command));
  const sorted = [...all].sort((a, b) => a.wallSeconds - b.wallSeconds);
  return { median: sorted[Math.floor(sorted.length / 2)], all };
}

async function once(command: CommandLine): Promise<Sample> {
  const hasTime = existsSync(GNU_TIME);
  const started = performance.now();
  const child = hasTime
    ? spawn(GNU_TIME, ['-f', 'MEASURED %U %S %M', command.program, ...command.args], { stdio: STDIO })
    : spawn(command.program, [...command.args], { stdio: STDIO });
  let talk = '';
  child.stderr.on('data', (data) => {
    talk = (talk + data).slice(-4000);
  });
  let sampled: Omit<Sample, 'wallSeconds'> = { userSeconds: 0, systemSeconds: 0, peakMib: 0 };
  const timer = setInterval(() => {
    if (!hasTime) sampled = fromProc(child.pid) ?? sampled;
  }, 20);
  const code = await new Promise<number | null>((resolve, reject) => {
    child.on('error', reject);
    child.on('close', resolve);
  });
  clearInterval(timer);
  const wallSeconds = (performance.now() - started) / 1000;
  if (code === null || !command.fine.includes(code)) throw new Error(`${command.id} ended with ${code}:\n${talk}`);
  const [, user, system, kib] = /MEASURED (\S+) (\S+) (\d+)/.exec(talk) ?? [];
  if (!hasTime) return { wallSeconds, ...sampled };
  return { wallSeconds, userSeconds: Number(user), systemSeconds: Number(system), peakMib: Number(kib) / 1024 };
}

const STDIO = ['ignore', 'ignore', 'pipe'] as ['ignore', 'ignore', 'pipe'];

function fromProc(pid: number | undefined): Omit<Sample, 'wallSeconds'> | undefined {
  try {
    const fields = readFileSync(`/proc/${pid}/stat`, 'utf8').split(') ')[1].split(' ');
    const [, kib] = /VmHWM:\s+(\d+)/.exec(readFileSync(`/proc/${pid}/status`, 'utf8')) ?? [];
    const [user, system] = [Number(fields[11]), Number(fields[12])];
    return { userSeconds: user / CLOCK_TICKS, systemSeconds: system / CLOCK_TICKS, peakMib: Number(kib) / 1024 };
  } catch {
    return undefined;
  }
}
