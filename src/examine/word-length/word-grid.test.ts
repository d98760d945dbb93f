// A sample of the grid of word lengths and laws (whole: `npm run score:words`): right or "cannot tell", never another answer;
// and FLAC files of 12, 15, 20 and 24 bits.
import { execFileSync } from 'node:child_process';
import { writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { memorySource, rate } from '../../base/index.ts';
import { openAudio } from '../../media/index.ts';
import { buildFlac } from '../../media/testing/flac-bytes.ts';
import { loadMusic, needMusic } from '../../media/testing/music.ts';
import { needTestData, needTool, tempFolder } from '../../media/testing/tools.ts';
import { codeBook } from '../code-book/code-book.ts';
import { examineSource } from '../pass.ts';
import { scaledLattice } from '../scaled-lattice/scaled-lattice.ts';
import { lawCases, linearCases, outcomesOf, scaledCases } from '../testing/word-grid.ts';
import { wordLength } from './word-length.ts';

const DETECTORS = [wordLength, codeBook, scaledLattice].map((detector) => detector as never);

describe.each(['tabla', 'choir', 'fox'])('%s', (name) => {
  it.for([
    ['linear', linearCases()],
    ['laws', lawCases()],
    ['a gain of 0.7', scaledCases(0.7)],
  ] as const)('%s', async ([, cases], context) => {
    const plane = (await loadMusic(await needMusic(context, name))).planes[0].slice(0, 3 * 44_100);
    let [right, all] = [0, 0];
    for (const [n, one] of cases.entries()) {
      // Each recording takes its own third of the grid.
      if (n % 3 !== ['tabla', 'choir', 'fox'].indexOf(name)) continue;
      const source = memorySource([plane.map(one.alter)], { name: one.name, rate: rate(44_100), bits: one.container });
      for (const [question, outcome] of outcomesOf(one, (await examineSource(source, DETECTORS)).verdicts)) {
        expect(outcome, `${one.name}: ${question}`).not.toBe('wrong');
        right += outcome === 'right' ? 1 : 0;
        all++;
      }
    }
    expect(right, 'most can be told').toBeGreaterThan(all / 2);
  });
});

async function wordsOf(path: string): Promise<{ words: unknown[]; laws: unknown[] }> {
  const audio = await openAudio(path);
  const { verdicts } = await examineSource(audio, DETECTORS);
  await audio.close();
  const answers = (question: string) => verdicts.filter((one) => one.question === question).map(({ answer }) => answer);
  return { words: answers('word-length'), laws: answers('code-book') };
}

describe('FLAC', () => {
  it.for([
    ['22_-_12_bit_per_sample.flac', 12],
    ['37_-_20_bit_per_sample.flac', 20],
  ] as const)('%s of the FLAC test bench', async ([file, bits], context) => {
    const { words, laws } = await wordsOf(join(needTestData(context), 'flac', file));
    expect(words).toEqual([bits, bits]);
    expect(laws).toEqual(['linear', 'linear']);
  });

  it('low bits dropped where it is loud (wasted bits) are no law', async (context) => {
    const { laws } = await wordsOf(join(needTestData(context), 'flac/14_-_wasted_bits.flac'));
    for (const answer of laws) expect(['linear', 'cannot tell']).toContain(answer);
  });

  it.for([15, 24])('real music of %i bits', async (bits, context) => {
    const flac = needTool(context, 'flac');
    const { planes } = await loadMusic(await needMusic(context, bits === 24 ? 'viola' : 'guitar'));
    const plane = bits === 24 ? planes[0] : planes[0].slice(0, 10 * 44_100).map((x) => x >> 1);
    const path = join(await tempFolder(), `${bits}.flac`);
    await writeFile(path, buildFlac({ bits, rateHz: 44_100, frames: framesOf(plane) }).bytes);
    // The reference decoder vouches for the file, which its own encoder does not make at 15 bits.
    execFileSync(flac, ['-t', '-s', path], { stdio: 'ignore' });
    expect(await wordsOf(path)).toEqual({ words: [bits], laws: ['linear'] });
  });
});

function framesOf(plane: Int32Array) {
  return Array.from({ length: Math.ceil(plane.length / 4096) }, (_, n) => ({
    assignment: 0,
    subframes: [{ kind: 'verbatim' } as const],
    planes: [plane.slice(4096 * n, 4096 * (n + 1))],
  }));
}
