// tapeproof plan from the command line: a bench that works, benches that cannot, and what is printed of both.
import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { beforeAll, describe, expect, it } from 'vitest';
import { tempFolder } from '../media/testing/tools.ts';
import { tapeproofInside } from './testing/in-process.ts';

const BENCH = `tape: { id: HB-0417, format: eight-track-8mm, system: 525/60, rate: 48000 }   # the concert
wanted: { channels: 1-8, reads: 2, minutes: 62, condition: good }
bench:
  decks:
    - name: bench-1
      plays: [eight-track-8mm]
      outputs:
        - { name: out 1-2, kind: aes3, channels: [1, 2] }
        - { name: out 3-4, kind: aes3, channels: [3, 4] }
        - { name: out 5-6, kind: aes3, channels: [5, 6] }
        - { name: out 7-8, kind: aes3, channels: [7, 8] }
    - name: bench-2
      plays: [eight-track-8mm]
      wear: 1.2
      outputs:
        - { name: A, kind: aes3, width: 2 }
        - { name: B, kind: aes3, width: 2 }
    - { name: living room, plays: [eight-mm-pcm], outputs: [{ kind: spdif }] }
  recorders:
    - { name: north, inputs: [{ kind: aes3 }], rates: [44100, 48000], bits: [16, 24], clock: input, resamples: switchable }
    - { name: south, inputs: [{ kind: spdif }], rates: [44100, 48000], bits: [16], clock: input, resamples: never }
    - { name: old, inputs: [{ kind: spdif }], bits: [16], clock: internal, resamples: never }
`;

let folder = '';
beforeAll(async () => {
  folder = await tempFolder();
});

function sheet(name: string, text: string): string {
  const path = join(folder, `${name}.yaml`);
  writeFileSync(path, text);
  return path;
}

describe('a bench that works', () => {
  it('text: passes, cables, reads, joints, cost, runner-up, what is ruled out, advice with its mark', async () => {
    const path = sheet('good', BENCH);
    const { code, out } = await tapeproofInside(['plan', path]);
    expect(code).toBe(0);
    expect(out).toMatch(/^Tape HB-0417: 4 passes \(2 passes on bench-1, 2 passes on bench-2\), about 5\.7 h/);
    expect(out).toMatch(/out 1-2 +north: aes3 +1 2 +110 ohm/);
    expect(out).toMatch(/south: spdif .*transformer 110 to 75 ohm with attenuator to 0\.5 V/);
    expect(out).toContain('p1-south.wav and p3-north.wav share channel 3.');
    expect(out).toMatch(/ 8 {2}2, 4 +bench-1, bench-2 +independent, 2 decks/);
    expect(out).toContain('The runner-up');
    expect(out).toMatch(/recorder old: cannot lock[^.]*every\s+2\.1 s/);
    expect(out).toContain('deck living room: plays eight-mm-pcm');
    expect(out).toContain('Refused, or noise. [M]');
    expect(out.split('\n').every((line) => line.length <= 100)).toBe(true);
    expect(readFileSync(path, 'utf8')).toBe(BENCH);
  });

  it('json: the document, the same every time', async () => {
    const path = sheet('json', BENCH);
    const first = await tapeproofInside(['plan', path, '--json']);
    const document = JSON.parse(first.out);
    expect(document).toMatchObject({ schema: 'tapeproof/plan@1', rate: { num: 48_000, den: 1 }, bits: 16 });
    expect(
      document.passes.flatMap((pass: { captures: { file: string }[] }) => pass.captures.map(({ file }) => file)),
    ).toHaveLength(8);
    expect((await tapeproofInside(['plan', path, '--json'])).out).toBe(first.out);
  });

  it('fixed pairs on two recorders: nothing connects them, and that is said and asks for a person', async () => {
    const fixed = BENCH.replace(/ {4}- name: bench-2[\s\S]*width: 2 }\n(?= {4}- \{ name: living)/, '');
    const { code, out } = await tapeproofInside(['plan', sheet('loose', fixed)]);
    expect(code).toBe(1);
    expect(out).toContain('NOTHING CONNECTS');
    expect(out).toMatch(/not everything can be\s+joined/);
  });
});

describe('benches that cannot: exit 2, every reason with its place and what would help', () => {
  const onlyOld = BENCH.replace(/ {4}- \{ name: (north|south).*\n/g, '');
  const onlyLiving = BENCH.replace(/ {4}- name: bench-1[\s\S]*(?= {4}- \{ name: living)/, '');
  it.each([
    ['no deck can replay it', onlyLiving, /5:7 deck living room: plays eight-mm-pcm, the tape is eight-track-8mm/],
    ['no recorder can take it', onlyOld, /20:7 recorder old: cannot lock/],
    [
      'too few passes',
      BENCH.replace('bench:', 'rules: { passes: 3 }\nbench:'),
      /3:8 at least 4 passes are needed, and the rules allow 3/,
    ],
    ['no such channel', BENCH.replace('1-8', '1-9'), /channel 9 is wanted/],
    ['no length', BENCH.replace('minutes: 62, ', 'speed: LP, '), /how long one run/],
    ['no room', BENCH.replace(/clock: input,/g, 'clock: input, storage: 100 MB,'), /it holds 0\.10 GB/],
    [
      'a file that ends',
      BENCH.replace(/clock: input,/g, 'clock: input, limit: 512 MiB,'),
      /stops at its file limit after/,
    ],
    ['always resampled', BENCH.replace(/resamples: (never|switchable)/g, 'resamples: always'), /always resample/],
    [
      'words too short',
      BENCH.replaceAll('eight-track-8mm', 'eight-track-8mm-24bit').replace('bits: [16, 24]', 'bits: [16]'),
      /at most 16 bits, the tape gives 24/,
    ],
  ])('%s', async (name, text, why) => {
    const { code, out, err } = await tapeproofInside(['plan', sheet(name.replaceAll(' ', '-'), text)]);
    expect([code, out]).toEqual([2, '']);
    expect(err).toContain('no plan is possible on this bench');
    expect(err).toMatch(why);
    expect(err).toContain('what would help');
  });

  it.each([
    ['31.25 kHz', 'eight-mm-pcm-625', '31250 Hz'],
    ['31.47 kHz', 'eight-mm-pcm-525', '31468.531 Hz'],
    ['44.056 kHz', 'pcm-adaptor-525', '44055.944 Hz'],
  ])('%s on recorders of plain rates', async (_, format, hertz) => {
    const text = `tape: { id: A, format: ${format} }
wanted: { minutes: 60 }
bench:
  decks: [{ name: d, plays: [${format}], outputs: [{ kind: spdif }] }]
  recorders: [{ name: r, inputs: [{ kind: spdif }], rates: [32000, 44100, 48000], bits: [16], clock: input, resamples: never }]
`;
    const { code, err } = await tapeproofInside(['plan', sheet(format, text)]);
    expect(code).toBe(2);
    expect(err).toContain(`takes 32000, 44100, 48000 Hz, the tape gives ${hertz}`);
    const follows = await tapeproofInside([
      'plan',
      sheet(`${format}-ok`, text.replace('[32000, 44100, 48000]', '[30k-50k]')),
    ]);
    expect(follows.code).toBe(0);
  });
});
