// `npm run score:rates`: true rates on made tapes of two hours: changes of rate among pauses at several levels of hum, and recordings as they are under
// every header. Writes a section of docs/scores.md.

import { rateChanges, rateStretches, StillGaps } from '../src/examine/index.ts';
import { type RateTape, rateTape, type TapeSection } from '../src/examine/testing/rate-tape.ts';
import { Random } from '../src/signal/index.ts';
import { loadMaterial } from './material.ts';
import { writeSection } from './section.ts';

const CHANGES = 12;
const PIECES = 3;
const MINUTES = Number(process.argv[2] ?? 120);
const RATES = [48_000, 44_100, 32_000];

const pieces = (await loadMaterial()).filter(({ bits }) => bits === 16).map(({ planes }) => planes[0]);
const music = new Int32Array(pieces.reduce((sum, { length }) => sum + length, 0));
pieces.reduce((at, piece) => {
  music.set(piece, at);
  return at + piece.length;
}, 0);

const rows: string[] = [];
for (const levelDb of [-50, -60, -66, -70, -200]) {
  for (const seed of [1, 2]) {
    const { sections, changesAt } = madeSections(seed);
    const hum = { hz: seed === 1 ? 50.02 : 59.97, levelDb };
    const { found, placed, wrong } = await scoreTape(
      rateTape({ headerHz: 48_000, sections, music: [music], hum, seed }),
      sections,
      changesAt,
    );
    const hz = `${hum.hz} Hz, ${levelDb === -200 ? 'none' : `${levelDb} dBFS`}`;
    rows.push(`| ${hz} | ${CHANGES} | ${placed} | ${found} | ${wrong} |`);
    process.stderr.write(`${rows.at(-1)}\n`);
  }
}
writeSection(
  'Changes of rate',
  [
    '## Changes of rate',
    '',
    `Made by \`npm run score:rates\`: ${MINUTES} minutes of all recordings in turn, ${CHANGES} changes among ${PIECES * (CHANGES + 1) - 1} gaps and pauses of 0.1 to 1.6 s, hum of eight`,
    'harmonics at its true frequency under each rate. Placed: the one frame that is named is within 50 ms. Found: it is among the frames named. Wrong: any change that is none.',
    '',
    '| hum | changes | placed | found | wrong |',
    '| --- | --- | --- | --- | --- |',
    ...rows,
    '',
  ].join('\n'),
);

function madeSections(seed: number): { sections: TapeSection[]; changesAt: number[] } {
  const random = new Random(seed);
  const sections: TapeSection[] = [];
  const changesAt: number[] = [];
  for (let i = 0, last = 0; i <= CHANGES; i++) {
    const others = RATES.filter((hz) => hz !== last);
    last = others[random.integer(others.length)];
    if (i > 0) changesAt.push(sections.length);
    for (let p = 0; p < PIECES; p++) {
      const seconds = ((MINUTES * 60) / PIECES / (CHANGES + 1)) * (0.6 + 0.8 * random.uniform());
      const gapSeconds = sections.length === 0 ? 0 : 0.1 + 1.5 * random.uniform();
      sections.push({ trueHz: last, seconds, gapSeconds });
    }
  }
  return { sections, changesAt };
}

async function scoreTape({ source, starts }: RateTape, sections: readonly TapeSection[], changesAt: readonly number[]) {
  const gaps = new StillGaps(960, 48_000);
  for await (const block of source.blocks()) gaps.push(block);
  const changes = rateChanges(await rateStretches(source, gaps.finish()));
  const isNear = (a: number, b: number) => Math.abs(a - b) < 0.05 * 48_000;
  const wanted = changesAt.map((i) => starts[i]);
  const placed = wanted.filter((want) => changes.some(({ at, orAt }) => orAt.length === 0 && isNear(at, want))).length;
  const found = wanted.filter((want) =>
    changes.some(({ at, orAt }) => [at, ...orAt].some((one) => isNear(one, want))),
  ).length;
  const wrong = changes.filter(
    ({ at, orAt }) => ![at, ...orAt].some((one) => wanted.some((want) => isNear(one, want))),
  ).length;
  return { found, placed, wrong, sections: sections.length };
}
