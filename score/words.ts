// `npm run score:words`: the labelled grid of word lengths and laws on every real recording: right, "cannot tell" or wrong, by kind and
// by duration. `-- --long` adds ten minutes and an hour, `-- --all-laws` every set of break points. Writes a section of docs/scores.md.
import { type Block, type FrameSource, memorySource, rate } from '../src/base/index.ts';
import { DETECTORS, examineSource } from '../src/examine/index.ts';
import {
  lawCases,
  linearCases,
  type Outcome,
  outcomesOf,
  scaledCases,
  type WordCase,
} from '../src/examine/testing/word-grid.ts';
import { allEightMmBreaks, eightMm } from '../src/tape/index.ts';
import { loadMaterial, type Material } from './material.ts';
import { writeSection } from './section.ts';

const QUESTIONS = ['word-length', 'code-book', 'gain-lattice'] as const;
const GAINS_BEFORE = [1, 0.25];
const SECONDS = [1, 10];
const LONG_SECONDS = [600, 3600];
/** Their levels keep a comb of their own (an earlier gain), so that "none" is not the truth. */
const HAVE_COMBS = ['violins', 'flute', 'choir', 'guitar', 'seashore'];

type Tally = Record<Outcome, number>;
const rows = new Map<string, Map<string, Tally>>();
const wrong: string[] = [];
const detectors = DETECTORS.filter(({ meta }) => ['word-length', 'code-book', 'scaled-lattice'].includes(meta.id));

const materials = (await loadMaterial()).filter(({ bits }) => bits === 16);
for (const material of materials) {
  for (const seconds of SECONDS) for (const gain of GAINS_BEFORE) await scoreAll(material, seconds, gain);
  process.stderr.write(`${material.name}: ${wrong.length} wrong so far\n`);
}
if (process.argv.includes('--all-laws')) await scoreAllLaws();
if (process.argv.includes('--long')) {
  for (const seconds of LONG_SECONDS) for (const one of longCases()) await scoreLong(one, seconds);
}
const text = document();
writeSection('Word lengths and laws', text);
process.stdout.write(text);

async function scoreAll(material: Material, seconds: number, gain: number): Promise<void> {
  const plane = material.planes[0].slice(0, seconds * material.rateHz).map((x) => Math.round(x * gain));
  const cases = [...linearCases(), ...lawCases(), ...scaledCases(0.7), ...scaledCases(10 ** (-1.5 / 20))];
  for (const one of cases) await scoreCase(material, plane, one, `${seconds} s`, gain);
}

async function scoreAllLaws(): Promise<void> {
  const laws = allEightMmBreaks().map((breaks) => eightMm({ breaks }));
  const cases = lawCases(laws).filter(({ container }) => container === 16);
  for (const material of materials.filter(({ name }) => ['tabla', 'fox'].includes(name))) {
    const plane = material.planes[0].slice(0, 10 * material.rateHz);
    for (const one of cases)
      await scoreCase(material, plane, { ...one, group: 'every set of break points' }, '10 s', 1);
  }
}

async function scoreCase(material: Material, plane: Int32Array, one: WordCase, duration: string, gain: number) {
  const { name, rateHz } = material;
  const source = memorySource([plane.map(one.alter)], { name, rate: rate(rateHz), bits: one.container });
  await score(source, one, duration, `${name}, gain ${gain} before`);
}

async function score(source: FrameSource, one: WordCase, duration: string, what: string): Promise<void> {
  const { verdicts } = await examineSource(source, detectors);
  const hasComb = HAVE_COMBS.some((name) => what.startsWith(name));
  for (const [question, outcome] of outcomesOf(one, verdicts)) {
    if (question === 'gain-lattice' && hasComb) continue;
    const row = rows.get(`${one.group} | ${duration}`) ?? new Map<string, Tally>();
    rows.set(`${one.group} | ${duration}`, row);
    const tally = row.get(question) ?? { right: 0, 'cannot tell': 0, wrong: 0 };
    row.set(question, tally);
    tally[outcome]++;
    if (outcome !== 'wrong') continue;
    const said = verdicts.find((verdict) => verdict.question === question)?.answer;
    wrong.push(`${what}, ${duration}, ${one.name}: ${question} said ${said}`);
  }
}

function longCases(): WordCase[] {
  const wide = (container: number) => (one: WordCase) => one.container === container;
  return [
    ...linearCases([12, 16]).filter(wide(16)),
    ...linearCases([24]).filter(wide(24)),
    ...lawCases().filter(wide(16)),
    ...scaledCases(0.7).filter(wide(16)),
  ];
}

/** All recordings one after the other, again and again at gains that glide, made while it is read. */
async function scoreLong(one: WordCase, seconds: number): Promise<void> {
  const pieces = materials.map(({ planes }) => planes[0]);
  const sound = new Int32Array(pieces.reduce((sum, piece) => sum + piece.length, 0));
  for (let at = 0, n = 0; n < pieces.length; at += pieces[n++].length) sound.set(pieces[n], at);
  await score(glidingSource(sound, one, seconds * 44_100), one, seconds >= 3600 ? '1 h' : '10 min', 'all in turn');
  process.stderr.write(`${seconds} s, ${one.name}\n`);
}

function glidingSource(sound: Int32Array, one: WordCase, frames: number): FrameSource {
  const block = (start: number, wanted: number): Block => {
    const count = Math.max(0, Math.min(wanted, frames - start));
    const plane = Int32Array.from({ length: count }, (_, i) => {
      const frame = start + i;
      const gain = 0.6 + 0.4 * Math.sin(frame / 3_000_000);
      return one.alter(Math.round(sound[frame % sound.length] * gain), frame);
    });
    return { start, frames: count, planes: [plane] };
  };
  return {
    info: { name: one.name, channels: 1, frames, rate: rate(44_100), bits: one.container },
    read: async (start, wanted) => block(start, wanted),
    async *blocks({ blockFrames = 65_536, start = 0 } = {}) {
      for (let at = start; at < frames; at += blockFrames) yield block(at, blockFrames);
    },
  };
}

function document(): string {
  const head = QUESTIONS.map((question) => `${question}: right | cannot tell | wrong`).join(' | ');
  const lines = [...rows].map(([name, row]) => {
    const cells = QUESTIONS.map((question) => {
      const tally = row.get(question);
      return tally ? `${tally.right} | ${tally['cannot tell']} | ${tally.wrong}` : '- | - | -';
    });
    return `| ${name} | ${cells.join(' | ')} |`;
  });
  return [
    '## Word lengths and laws',
    '',
    'Made by `npm run score:words` (`-- --long --all-laws` for the last rows): what was done to each recording is known, because it was done here. Words in containers of 16, 24',
    'and 32 bits, at full level and at a quarter, the gains 0.7 and -1.5 dB after the word was made. "Cannot tell" is a right answer where nobody could. A law under a gain is in',
    'no book, so "linear" is the truth there. `gain-lattice` is not counted on recordings that keep a comb of their own (guitar, violins, choir, flute, seashore).',
    '',
    `| what | duration | ${head} |`,
    `| --- | --- | ${QUESTIONS.map(() => '--- | --- | ---').join(' | ')} |`,
    ...lines,
    '',
    `Wrong answers: ${wrong.length}.`,
    '',
    ...wrong.slice(0, 40).map((one) => `- ${one}`),
    '',
  ].join('\n');
}
