// The written file is read by our own reader and by libltc: every word, at its place, over the joints of what is made at a time.
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { openAudio } from '../media/index.ts';
import { tempFolder } from '../media/testing/tools.ts';
import { readWithLibrary } from '../signal/testing/timecode-judge.ts';
import { timecodeFiles } from './timecode-files.ts';
import { writeTimecodeSignal } from './write-timecode.ts';

describe('a file of timecode', () => {
  it.for([
    ['09:59:50;00', '29.97', '48000', 30, true],
    ['01:00:00:00', '25', '44100', 25, false],
    ['23:59:55:00', '23.976', '96000', 24, false],
  ] as const)('from %s at %s in %s Hz is read whole', async ([from, fps, rate, count, isDrop], context) => {
    const out = join(await tempFolder(), 'code.wav');
    const written = await writeTimecodeSignal({ out, from, fps, rate, bits: 16, seconds: 21, user: '1A2B3C4D' });
    const [channel] = (await timecodeFiles([out])).files[0].channels;
    expect(channel).toMatchObject({ count, isDrop, from, missing: 0, unconfirmed: 0, jumps: [], gaps: [] });
    expect(channel.words).toBe(Math.ceil(21 * (count === 25 ? 25 : (1000 * count) / 1001)));
    expect(channel.userBits).toMatchObject({ first: '1A2B3C4D', changes: 0 });
    const [section] = channel.sections;
    expect(section.clock).toBe('locked');
    expect(Math.abs(section.map[0].at)).toBeLessThan(0.1);
    const audio = await openAudio(out);
    const { planes } = await audio.read(0, written.frames);
    await audio.close();
    const theirs = await readWithLibrary(context, planes[0], section.samplesPerFrame ?? 0);
    expect(theirs.length).toBeGreaterThanOrEqual(channel.words - 1);
    expect(theirs[0].timecode).toBe(from.replace(';', ':'));
  });

  it('is refused where there is no such code, and never written over another file', async () => {
    const out = join(await tempFolder(), 'code.wav');
    for (const wrong of [
      { from: '25:00:00:00' },
      { fps: '26' },
      { from: '00:01:00;00' },
      { from: '00:00:00;00', fps: '25' },
    ]) {
      await expect(writeTimecodeSignal({ out, ...wrong })).rejects.toMatchObject({ kind: 'input' });
    }
    await expect(writeTimecodeSignal({ out, user: '12' })).rejects.toMatchObject({ kind: 'input' });
    await writeTimecodeSignal({ out, seconds: 1 });
    await expect(writeTimecodeSignal({ out })).rejects.toThrow('there is a file of this name already');
  });
});
