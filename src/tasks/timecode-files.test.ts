// The verb's document from files: which channel has timecode, which has none, what is refused. Decoding is tested in signal/timecode.
import { writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { timecodeCsv, timecodeText } from '../deliver/index.ts';
import { tempFolder } from '../media/testing/tools.ts';
import { chunk, formatChunk, pcmBytes, riff } from '../media/testing/wave-bytes.ts';
import { Random } from '../signal/index.ts';
import { makeTimecode, TIMECODE_RATES, wordsFrom } from '../signal/testing/made-timecode.ts';
import { timecodeFiles, timecodeNeedsPerson } from './timecode-files.ts';

const [, , , DROP] = TIMECODE_RATES;

async function captureWithTimecode(): Promise<string> {
  const { plane } = makeTimecode(wordsFrom([9, 59, 58], 100, DROP), {
    ...{ rateHz: 48_000, framesPerSecond: DROP.framesPerSecond * 1.00002, leadFrames: 1000 },
  });
  const random = new Random(3);
  const sound = plane.map(() => Math.round(2000 * random.gaussian()));
  const path = join(await tempFolder(), 'capture.wav');
  await writeFile(path, riff([formatChunk({ channels: 2, bits: 16 }), chunk('data', pcmBytes([sound, plane], 16))]));
  return path;
}

describe('timecode of files', () => {
  it('names the channel, its code and its clock', async () => {
    const path = await captureWithTimecode();
    const document = await timecodeFiles([path]);
    const [file] = document.files;
    expect(file.without).toEqual([1]);
    expect(file.channels).toHaveLength(1);
    const [channel] = file.channels;
    expect(channel).toMatchObject({ channel: 2, count: 30, isDrop: true, from: '09:59:58;00', words: 100, jumps: [] });
    expect(channel.nominal).toEqual({ num: 30_000, den: 1001 });
    const [section] = channel.sections;
    expect(section.clock).toBe('free-running');
    // The truth is +20 ppm; the error it states is three standard deviations.
    expect(Math.abs((section.ppm ?? 0) - 20)).toBeLessThan(section.ppmError ?? 0);
    expect(section.ppmError).toBeLessThan(1);
    expect(section.map[0]).toMatchObject({ timecode: '09:59:58;00', at: expect.closeTo(1000, 0) });
    expect(timecodeNeedsPerson(document)).toBe(false);
    expect(timecodeText(document)).toContain('Channel 2: linear timecode, 30 frames a second with drop');
  });

  it('does not choose where drop frames come at 30 a second: the header may be wrong', async () => {
    const { plane } = makeTimecode(wordsFrom([9, 59, 58], 100, DROP), { rateHz: 48_000, framesPerSecond: 30 });
    const path = join(await tempFolder(), 'capture.wav');
    await writeFile(path, riff([formatChunk({ channels: 1, bits: 16 }), chunk('data', pcmBytes([plane], 16))]));
    const [channel] = (await timecodeFiles([path])).files[0].channels;
    expect(channel).toMatchObject({ isDrop: true, nominal: null });
    expect(channel.candidates).toHaveLength(2);
    expect(channel.nominalBecause).toMatch(/drop is for 29\.97.*30\.0000.*header/);
    expect(channel.sections[0].ppm).toBeNull();
  });

  it('says where a header names the rate of the other system', async () => {
    const [, , rate25] = TIMECODE_RATES;
    const { plane } = makeTimecode(wordsFrom([1, 0, 0], 60, rate25), { rateHz: 48_000, framesPerSecond: 25 * 1.001 });
    const path = join(await tempFolder(), 'capture.wav');
    await writeFile(path, riff([formatChunk({ channels: 1, bits: 16 }), chunk('data', pcmBytes([plane], 16))]));
    const document = await timecodeFiles([path]);
    expect(document.files[0].channels[0].sections[0].ppm).toBeCloseTo(1000, 0);
    expect(timecodeText(document).replace(/\s+/g, ' ')).toContain('header were 1001/1000');
  });

  it('gives every word as a line, and only one channel when asked', async () => {
    const path = await captureWithTimecode();
    const document = await timecodeFiles([path], { channel: 2, eachWord: true });
    const lines = timecodeCsv(document).trim().split('\r\n');
    expect(lines).toHaveLength(101);
    expect(lines[100]).toContain('10:00:01;09,forward,19910317,1,0,1');
    const without = await timecodeFiles([path], { channel: 1 });
    expect(without.files[0]).toMatchObject({ channels: [], without: [1] });
    expect(timecodeNeedsPerson(without)).toBe(true);
    expect(timecodeText(without)).toContain('No timecode found: channel 1');
  });

  it('refuses a channel that is not there', async () => {
    await expect(timecodeFiles([await captureWithTimecode()], { channel: 3 })).rejects.toMatchObject({ kind: 'input' });
  });
});
