// What the progress reporter writes, with a clock and a stream that the test owns.
import { describe, expect, it } from 'vitest';
import { progressLine, progressReporter } from './progress.ts';

function recorder(isTTY: boolean, columns = 80) {
  const written: string[] = [];
  return { written, stream: { isTTY, columns, write: (text: string) => written.push(text) } };
}

describe('progressLine', () => {
  it('tells share, rate and time left in bytes', () => {
    const event = { stage: 'reading p1.wav', done: 250_000_000, total: 1_000_000_000, unit: 'bytes' } as const;
    expect(progressLine(event, 2000)).toBe('reading p1.wav  25 %  125.0 MB/s  0:06 left');
  });

  it('tells frames as times real time when the rate is known', () => {
    const event = { stage: 'examining', done: 4_800_000, total: 9_600_000, unit: 'frames', rateHz: 48_000 } as const;
    expect(progressLine(event, 1000)).toBe('examining  50 %  100 x real time  0:01 left');
  });

  it('claims no rate from a moment, and no share when the total is unknown', () => {
    expect(progressLine({ stage: 'reading', done: 500_000, total: 0, unit: 'bytes' }, 100)).toBe('reading  0.5 MB');
    expect(progressLine({ stage: 'placing', done: 0, total: 4, unit: 'items' }, 5000)).toBe('placing  0 %');
  });

  it('writes hours', () => {
    const event = { stage: 's', done: 1, total: 3601, unit: 'items' } as const;
    expect(progressLine(event, 1000)).toBe('s  0 %  1.0 a second  1:00:00 left');
  });
});

describe('off a terminal', () => {
  it('writes whole lines, at most one in five seconds, and the end of each stage once', () => {
    let at = 0;
    const { written, stream } = recorder(false);
    const reporter = progressReporter(stream, () => at);
    for (at = 0; at <= 12_000; at += 100) {
      reporter.progress({ stage: 'reading', done: at, total: 12_000, unit: 'items' });
    }
    reporter.progress({ stage: 'reading', done: 12_000, total: 12_000, unit: 'items' });
    reporter.close();
    expect(written).toHaveLength(3);
    expect(written.every((text) => text.endsWith('\n'))).toBe(true);
    expect(written.join('')).not.toContain('\r');
    expect(written.join('')).not.toContain('\u001b');
    expect(written.at(-1)).toContain('100 %');
  });
});

describe('on a terminal', () => {
  it('rewrites one line, never wider than the terminal, and leaves it clean', () => {
    let at = 0;
    const { written, stream } = recorder(true, 30);
    const reporter = progressReporter(stream, () => at);
    for (at = 0; at < 1000; at += 10) {
      reporter.progress({ stage: 'reading a file with a long name.wav', done: at, total: 1000, unit: 'items' });
    }
    reporter.say('a remark');
    reporter.close();
    const lines = written.join('').split('\r');
    expect(lines.length).toBeLessThan(16);
    expect(lines.every((line) => line.length < 30)).toBe(true);
    expect(written.at(-1)).toBe('a remark\n');
    expect(written.join('')).not.toContain('\u001b');
  });
});
