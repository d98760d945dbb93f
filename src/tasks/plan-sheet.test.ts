// A plan with its files: what is written, that nothing is written over, and that a session done by the plan drops in: a simulated tape is
// captured as the patch sheets say, the files get the planned names, and `run` takes the planned sheet. The truth is the simulated tape.
import { readdir, readFile, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { rate, TapeproofError } from '../base/index.ts';
import type { PlanDocument } from '../deliver/index.ts';
import { createAudio, openAudio } from '../media/index.ts';
import { tempFolder } from '../media/testing/tools.ts';
import { encodeTape, simulateTransfer, synthesiseProgramme, type TapeRecording } from '../simulate/index.ts';
import { planSheet } from './plan-sheet.ts';
import { runSheet } from './run-sheet.ts';
import { loadSheet } from './sheet.ts';

const AT = rate(48_000);
const SECONDS = 3;

const deckOf = (name: string, outputs: string) =>
  `    - { name: ${name}, plays: [eight-track-8mm], outputs: [${outputs}] }\n`;
const PAIRS = [1, 3, 5, 7].map((c) => `{ name: out ${c}-${c + 1}, kind: aes3, channels: [${c}, ${c + 1}] }`).join(', ');
const BUSES = '{ name: A, kind: aes3, width: 2 }, { name: B, kind: aes3, width: 2 }';
const recorderOf = (name: string, more = '') =>
  `    - { name: ${name}, inputs: [{ kind: aes3 }], rates: [48000], bits: [16], clock: input, resamples: never${more} }\n`;
const sheetOf = (decks: string, recorders: string, wanted = 'reads: 2') =>
  `# of the Harbour Ballroom\ntape: { id: HB-0417, format: eight-track-8mm, rate: 48000 }\nwanted: { ${wanted}, minutes: 62, condition: good }\nbench:\n  decks:\n${decks}  recorders:\n${recorders}notes: first the choir\n`;

async function planned(
  text: string,
): Promise<{ readonly folder: string; readonly document: PlanDocument; readonly path: string }> {
  const folder = await tempFolder();
  const path = join(folder, 'bench.yaml');
  await writeFile(path, text);
  return { folder, path, document: await planSheet(path, { out: join(folder, 'HB-0417') }) };
}

function recordedTape(channels: number): TapeRecording {
  const programme = synthesiseProgramme({ channels, seconds: SECONDS, rate: AT, bits: 16, seed: 5 });
  return encodeTape(programme, { rate: AT, wordBits: 16, outputBits: 16 });
}

/** Every pass as planned; recorders start when someone presses a button, linked ones together. */
async function doSession({ passes }: PlanDocument, tape: TapeRecording, folder: string, label = AT): Promise<void> {
  const starts = new Map<string, number>();
  const captures = passes.flatMap(({ pass, captures: own }) =>
    own.map(({ file, recorder, channels, starts: word }, i) => {
      const key = word === null ? `${pass} ${recorder}` : `${pass} ${word}`;
      const startFrame = starts.get(key) ?? -(9_000 + 4_111 * pass + 1_937 * i);
      starts.set(key, startFrame);
      return { name: file, pass, recorder, channels: channels.map((channel) => channel || 1), startFrame };
    }),
  );
  const made = simulateTransfer({ seed: 3, tape, passes: passes.map(({ pass }) => ({ pass })), captures });
  for (const capture of made.captures) {
    const audio = await createAudio(join(folder, capture.name), {
      channels: capture.planes.length,
      rate: label,
      bits: 16,
    });
    await audio.write({ start: 0, frames: capture.planes[0].length, planes: capture.planes });
    await audio.commit();
  }
}

/** The master's samples are the tape's: found at the place where the report says that the first capture lies. */
async function expectTape(path: string, channels: readonly number[], tape: TapeRecording, lead: number): Promise<void> {
  const audio = await openAudio(path);
  const { planes } = await audio.read(lead, 100_000);
  await audio.close();
  for (const [i, channel] of channels.entries()) {
    expect(planes[i].subarray(0, 100_000), `channel ${channel}`).toEqual(tape.planes[channel - 1].subarray(0, 100_000));
  }
}

describe('what is written', () => {
  it('page, text, JSON and the sheet, with the user\u2019s own sheet kept and its comments taken along', async () => {
    const text = sheetOf(deckOf('bench-1', BUSES), recorderOf('north'));
    const { folder, document, path } = await planned(text);
    expect((await readdir(join(folder, 'HB-0417'))).sort()).toEqual([...document.written!.files].sort());
    expect(await readFile(path, 'utf8')).toBe(text);
    const sheet = await readFile(join(folder, 'HB-0417/transfer-sheet.yaml'), 'utf8');
    expect(sheet).toContain('# of the Harbour Ballroom');
    expect(sheet).toContain('notes: first the choir');
    expect(sheet).toMatch(
      /- \{ file: p1-north\.wav, pass: 1, deck: bench-1, recorder: north, channels: \[ \d, \d \] \}/,
    );
    expect(JSON.parse(await readFile(join(folder, 'HB-0417/plan.json'), 'utf8'))).toMatchObject({
      schema: 'tapeproof/plan@1',
    });
    const patches = (await readFile(join(folder, 'HB-0417/plan.txt'), 'utf8')).split('\f');
    expect(patches).toHaveLength(1 + document.passes.length);
  });

  it('never over what is there', async () => {
    const { folder, path } = await planned(sheetOf(deckOf('bench-1', BUSES), recorderOf('north')));
    const out = join(folder, 'HB-0417');
    const before = await readFile(join(out, 'transfer-sheet.yaml'));
    await expect(planSheet(path, { out })).rejects.toThrow(TapeproofError);
    expect(await readFile(join(out, 'transfer-sheet.yaml'))).toEqual(before);
    expect((await readdir(out)).filter((name) => name.startsWith('.'))).toEqual([]);
  });

  it('files that split are listed with their parts', async () => {
    const long = sheetOf(
      deckOf('bench-1', BUSES),
      recorderOf('north', ', limit: 512 MiB, splits: true'),
      'reads: 1, channels: [1, 2]',
    );
    const { folder } = await planned(long);
    const sheet = await readFile(join(folder, 'HB-0417/transfer-sheet.yaml'), 'utf8');
    expect(sheet).toContain('files: [ p1-north_1.wav, p1-north_2.wav ]');
  });

  it('before the files are there, run says which is missing', async () => {
    const { folder } = await planned(
      sheetOf(deckOf('bench-1', BUSES), recorderOf('north'), 'reads: 1, channels: [1, 2]'),
    );
    await expect(loadSheet(join(folder, 'HB-0417/transfer-sheet.yaml'))).rejects.toThrow('capture file not found');
  });
});

describe('a session by the plan drops in', () => {
  it('joined by channels in common: one master, every sample proven', async () => {
    const decks = deckOf('bench-1', PAIRS) + deckOf('bench-2', BUSES);
    const { folder, document } = await planned(sheetOf(decks, recorderOf('north') + recorderOf('south')));
    expect(document.groups).toHaveLength(1);
    const tape = recordedTape(8);
    const out = join(folder, 'HB-0417');
    await doSession(document, tape, out);
    const report = await runSheet(join(out, 'transfer-sheet.yaml'), { out: join(folder, 'result') });
    expect(report.masters.map(({ channels }) => channels)).toEqual([[1, 2, 3, 4, 5, 6, 7, 8]]);
    expect([report.contradictions, report.refusedJoins]).toEqual([[], []]);
    const frames = tape.planes[0].length;
    for (const tally of report.channels) expect(tally.proven).toBeGreaterThanOrEqual(frames);
    await expectTape(join(folder, 'result/master.wav'), [1, 2, 3, 4, 5, 6, 7, 8], tape, leadOf(report));
  });

  it('joined by a common start: the sheet says it, run uses it and calls it declared', async () => {
    const recorders = recorderOf('north', ', starts: rack') + recorderOf('south', ', starts: rack');
    const { folder, document } = await planned(sheetOf(deckOf('bench-1', PAIRS), recorders, 'reads: 2, channels: 1-4'));
    expect(document.links.some(({ by }) => by === 'start')).toBe(true);
    const tape = recordedTape(4);
    const out = join(folder, 'HB-0417');
    await doSession(document, tape, out);
    const report = await runSheet(join(out, 'transfer-sheet.yaml'), { out: join(folder, 'result') });
    expect(report.masters.map(({ channels }) => channels)).toEqual([[1, 2, 3, 4]]);
    expect(report.cautions.join('\n')).toMatch(/Joined by a common start .*p1-south\.wav/);
    expect(report.contradictions).toEqual([]);
    await expectTape(join(folder, 'result/master.wav'), [1, 2, 3, 4], tape, leadOf(report));
  });

  it('programmes: a master for each, whatever rate the recorder writes into its files', async () => {
    const text = `tape: { id: HB-0620, format: eight-mm-six-programmes-625 }
wanted: { programmes: [1, 2], reads: 2, minutes: 90, speed: SP, condition: good }
bench:
  decks: [{ name: bench-6, plays: [eight-mm-six-programmes], outputs: [{ kind: spdif }] }]
  recorders: [{ name: north, inputs: [{ kind: spdif }], rates: [30k-50k], bits: [16], clock: input, resamples: never }]
`;
    const { folder, document } = await planned(text);
    expect(document.passes.map(({ programme }) => programme)).toEqual([1, 2, 1, 2]);
    const tape = recordedTape(4);
    const out = join(folder, 'HB-0417');
    // No interface has a code for 31 250 Hz: the files say 32 kHz.
    await doSession(document, tape, out, rate(32_000));
    const report = await runSheet(join(out, 'transfer-sheet.yaml'), { out: join(folder, 'result') });
    expect(report.masters.map(({ channels }) => channels)).toEqual([
      [1, 2],
      [3, 4],
    ]);
    for (const tally of report.channels) expect(tally.proven).toBeGreaterThanOrEqual(tape.planes[0].length);
  });

  it('nothing connects: a master for every part, as the plan said', async () => {
    const { folder, document } = await planned(
      sheetOf(deckOf('bench-1', PAIRS), recorderOf('north'), 'reads: 2, channels: 1-4'),
    );
    expect(document.groups.map(({ channels }) => channels)).toEqual([
      [1, 2],
      [3, 4],
    ]);
    const out = join(folder, 'HB-0417');
    await doSession(document, recordedTape(4), out);
    const report = await runSheet(join(out, 'transfer-sheet.yaml'), { out: join(folder, 'result') });
    expect(report.masters.map(({ channels }) => channels)).toEqual([
      [1, 2],
      [3, 4],
    ]);
  });

  it('a common start that did not happen is contradicted where samples can tell', async () => {
    const recorders = recorderOf('north', ', starts: rack') + recorderOf('south', ', starts: rack');
    const decks = deckOf('bench-1', BUSES);
    const { folder, document } = await planned(sheetOf(decks, recorders, 'reads: 2, channels: 1-3'));
    const out = join(folder, 'HB-0417');
    const apart = {
      ...document,
      passes: document.passes.map((pass) => ({
        ...pass,
        captures: pass.captures.map((one) => ({ ...one, starts: null })),
      })),
    };
    await doSession(apart, recordedTape(3), out);
    const report = await runSheet(join(out, 'transfer-sheet.yaml'), { out: join(folder, 'result') });
    expect(report.contradictions.join('\n')).toMatch(
      /by the sheet \(starts: rack\), and 1937 frames before it by the samples/,
    );
  });
});

/** Master frame of the tape's first, from the place of the first capture, which began 13 111 frames before the tape (`doSession`). */
function leadOf({ alignment, timelines }: Awaited<ReturnType<typeof runSheet>>): number {
  return alignment.placements[0].segments[0].offset - timelines[0].start + 9_000 + 4_111;
}
