// A labelled grid over real recordings: words of 16 bits with and without dither, emphasis taken off by sox once and twice, to 24 bits and back to 16, changes of level, 24-bit
// originals. Right or "cannot tell", never wrong; and told wherever the recording fades out.
import { execFileSync } from 'node:child_process';
import { describe, expect, it } from 'vitest';
import { memorySource, rate } from '../../base/index.ts';
import { loadMusic, needMusic } from '../../media/testing/music.ts';
import { needTool } from '../../media/testing/tools.ts';
import { Random } from '../../signal/index.ts';
import { examineSource } from '../pass.ts';
import { emphasis } from './emphasis.ts';

async function answerOf(plane: Int32Array, bits: number, hz = 44_100) {
  const source = memorySource([plane], { name: 'test', rate: rate(hz), bits });
  return (await examineSource(source, [emphasis])).verdicts[0]?.answer;
}

/** 16-bit words that fade out into what dither or rounding leaves, in a container of 24. */
function tapeWords(plane: Int32Array, dithered: boolean): Int32Array {
  const random = new Random(4);
  const frames = Math.min(plane.length, 400_000);
  return Int32Array.from({ length: frames }, (_, i) => {
    const fade = Math.max(0, Math.min(1, 3 * (1 - i / frames) - 0.6)) ** 4;
    const sound = 0.6 * plane[i] * fade + (dithered ? random.triangular() : 0.9 * (random.uniform() - 0.5));
    return Math.round(sound) << 8;
  });
}

function deemphasised(sox: string, plane: Int32Array, times: number): Int32Array {
  const bytes = Buffer.alloc(4 * plane.length);
  for (const [i, x] of plane.entries()) bytes.writeInt32LE(x << 8, 4 * i);
  const raw = ['-t', 'raw', '-e', 'signed-integer', '-b', '32', '-L', '-c', '1', '-r', '44100', '-'];
  const effects = Array.from({ length: times }, () => 'deemph');
  const out = execFileSync(sox, ['-D', ...raw, ...raw, ...effects], { input: bytes, maxBuffer: 2 ** 27 });
  return Int32Array.from({ length: plane.length }, (_, i) => Math.round(out.readInt32LE(4 * i) / 256));
}

const NAMES = ['guitar', 'choir', 'violins', 'tabla', 'drums', 'fox', 'seashore', 'piano', 'bell'];

describe.each(NAMES)('%s, faded out', (name) => {
  it('with dither: told, and nothing else', async (context) => {
    const sox = needTool(context, 'sox');
    const { planes } = await loadMusic(await needMusic(context, name));
    const found = await answersOf(sox, tapeWords(planes[0], true));
    expect(found).toEqual({ ...UNTOLD, once: 'removed', twice: 'removed twice' });
  });

  it('without dither, where rounding is not white: right or "cannot tell"', async (context) => {
    const sox = needTool(context, 'sox');
    const { planes } = await loadMusic(await needMusic(context, name));
    const { once, twice, ...others } = await answersOf(sox, tapeWords(planes[0], false));
    expect(['removed', 'cannot tell']).toContain(once);
    expect(['removed twice', 'cannot tell']).toContain(twice);
    expect({ ...UNTOLD, ...others }).toEqual(UNTOLD);
  });
});

const CANNOT = 'cannot tell';
const UNTOLD = { asItIs: CANNOT, in16: CANNOT, softer: CANNOT, once: CANNOT, twice: CANNOT, onceBackIn16: CANNOT };

async function answersOf(sox: string, words: Int32Array) {
  const once = deemphasised(sox, words, 1);
  const in16 = words.map((x) => x >> 8);
  const softer = words.map((x) => Math.round(x * 0.8414));
  const onceBackIn16 = once.map((x) => Math.round(x / 256) << 8);
  return {
    asItIs: await answerOf(words, 24),
    in16: await answerOf(in16, 16),
    softer: await answerOf(softer, 24),
    once: await answerOf(once, 24),
    twice: await answerOf(deemphasised(sox, words, 2), 24),
    onceBackIn16: await answerOf(onceBackIn16, 24),
  };
}

it.for([...NAMES, 'viola', 'electric-guitar', 'flute', 'announcement-front'])(
  '%s as it is, and at lower levels',
  async (name, context) => {
    const { planes, bits, rateHz } = await loadMusic(await needMusic(context, name));
    for (const plane of planes) {
      expect(await answerOf(plane, bits, rateHz)).toBe('cannot tell');
      const wide = plane.map((x) => (bits === 24 ? x : x << 8));
      for (const gain of [0.5, 0.1, 0.01, 0.001]) {
        expect(
          await answerOf(
            wide.map((x) => Math.round(x * gain)),
            24,
            rateHz,
          ),
        ).toBe('cannot tell');
      }
    }
  },
);
