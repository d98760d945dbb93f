// The patch sheets of a plan on paper: every cable and task on the page and in the text, hostile names harmless, cautions where their step comes
// up. Well-formedness is judged by our small reader and by an XML reader of another maker (expat, through Python).
import { spawnSync } from 'node:child_process';
import { writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { type PlanDocument, patchSheet, patchText, planHtml, planText } from '../deliver/index.ts';
import { readMarkup } from '../deliver/testing/read-markup.ts';
import { needTool, tempFolder } from '../media/testing/tools.ts';
import { planSheet } from './plan-sheet.ts';

const SHEET = `tape: { id: HB-0620, format: eight-mm-six-programmes-625 }
wanted: { programmes: 1-3, reads: 2, minutes: 90, speed: SP, condition: poor, signs: [mould on one edge, sticky, odd smell] }
bench:
  decks:
    - { name: bench-6, plays: [eight-mm-six-programmes], wordclock: true, outputs: [{ name: digital, kind: aes3 }, { name: line, kind: analogue }] }
  recorders:
    - { name: north, inputs: [{ name: in, kind: spdif }], rates: [30k-50k], bits: [16], clock: word, resamples: switchable, limit: 256 MiB, splits: true }
`;

async function planOf(text: string): Promise<PlanDocument> {
  const path = join(await tempFolder(), 'bench.yaml');
  await writeFile(path, text);
  return planSheet(path);
}

const sheetsOf = (document: PlanDocument) => document.passes.map((pass) => patchText(patchSheet(document, pass)));

describe('a patch sheet', () => {
  it('has the adapter with its cautions, the clock, what is switched off, split points, the programme, the odd rate', async () => {
    const document = await planOf(SHEET);
    expect(document.passes).toHaveLength(6);
    const [first, second] = sheetsOf(document).map((text) => text.replace(/\s+/g, ' '));
    expect(first).toContain('HB-0620: Pass 1, programme 1, on bench-6 (1 of 6)');
    expect(first).toContain('transformer 110 to 75 ohm with attenuator to 0.5 V');
    expect(first).toMatch(/! AES3 balanced is 110 ohm and 2 to 7 V .*\[T\]/);
    expect(first).toMatch(/! S\/PDIF coaxial is 75 ohm and 0\.5 V .*\[M\]/);
    expect(first).toContain('north follows the word clock output of bench-6');
    expect(first).toContain('[ ] Word clock: bench-6 to north, 75 ohm');
    expect(first).toMatch(/off: dither, gain and normalising .* and the RATE CONVERSION of its input/);
    expect(first).toContain('No interface has a code for 31250 Hz');
    expect(first).toContain('[ ] Programme 1 selected.');
    // 31 250 Hz, two channels of two bytes: 125 000 bytes a second; 256 MiB less 4096 bytes after 2147 s (arithmetic)
    expect(first).toContain('begins its next file at 0:35:47, 1:11:34');
    expect(first).toContain('p1-north_1.wav, p1-north_2.wav, p1-north_3.wav there');
    expect(second).toContain('[ ] Programme 2 selected.');
  });

  it('has the cautions for what was seen, deferring to others, and for opened decks and hearing', async () => {
    const text = sheetsOf(await planOf(SHEET))[0].replace(/\s+/g, ' ');
    for (const caution of [
      /! Mould: do not play it.*people with the protection/,
      /! Sticky: do not play it\. Baking is only for tapes shown to need it/,
      /! Seen on this tape: odd smell/,
      /! In poor condition: every run may be the last/,
      /! Never open a deck: mains voltage.*trained service people/,
      /! Hearing: monitors muted until the level is known/,
      /! Copy flags and rights are written down: neither stripped nor obeyed/,
    ]) {
      expect(text).toMatch(caution);
    }
  });

  it('an analogue cable is called what it is; the data stream is a file of its own', async () => {
    const analogue = SHEET.replace('kind: spdif', 'kind: analogue').replace(
      'bench:',
      'rules: { analogue: true }\nbench:',
    );
    const document = await planOf(analogue);
    expect(sheetsOf(document)[0]).toMatch(/level set once/);
    expect(planText(document)).toMatch(/Through converters, never bit-exact, proving no sample/);
    const dv = await planOf(`tape: { id: D, format: dv-525-32k-4ch }
wanted: { minutes: 60, reads: 1 }
bench:
  decks: [{ name: d, plays: [dv], outputs: [{ name: data, kind: dif }] }]
  recorders: [{ name: pc, inputs: [{ name: data, kind: dif }] }]
`);
    // 120 000 bytes in 1001/30000 s for an hour (formats note 4.2)
    expect(dv.passes[0].captures[0]).toMatchObject({
      file: 'p1-pc.dv',
      channels: [1, 2, 3, 4],
      isStream: true,
      clock: 'none',
    });
    expect(dv.passes[0].captures[0].size.bytes / 1e9).toBeCloseTo((120_000 * 30_000 * 3600) / 1001 / 1e9, 4);
    expect(sheetsOf(dv)[0]).toContain('takes the data stream unchanged');
    expect(dv.remarks.join()).not.toContain('The data stream');
  });

  it('a data stream that is left out is told', async () => {
    const both = await planOf(`tape: { id: D, format: dv-525-48k }
wanted: { minutes: 60, reads: 2 }
bench:
  decks: [{ name: d, plays: [dv], outputs: [{ name: data, kind: dif }, { kind: spdif }] }]
  recorders: [{ name: pc, inputs: [{ kind: dif }] }, { name: north, inputs: [{ kind: spdif }] }]
`);
    expect(both.remarks.join()).toContain('The data stream of d into pc is not used');
  });
});

describe('the page', () => {
  it('is well formed, without scripts, with a drawing and a box to tick for everything', async () => {
    const document = await planOf(SHEET);
    const html = planHtml(document);
    const names = readMarkup(html);
    expect(names).not.toContain('script');
    const tasks = document.passes.flatMap((pass) => patchSheet(document, pass).steps.flatMap((step) => step.tasks));
    expect(names.filter((name) => name === 'input')).toHaveLength(tasks.length);
    expect(html.match(/<svg viewBox/g)).toHaveLength(document.passes.length);
    expect(html.match(/class="cable/g)?.length).toBeGreaterThanOrEqual(document.passes.length);
    expect(html).toContain('break-before: page');
    const ids = [...html.matchAll(/ id="([^"]+)"/g)].map(([, id]) => id);
    expect(new Set(ids).size).toBe(ids.length);
  });

  it('hostile names stay text, on the page and in the terminal', async () => {
    const bad = '</style><script>alert(1)</script>\\u001b[31m\\u202e&';
    const document = await planOf(SHEET.replace('bench-6', `"${bad}"`).replace('name: north', `name: "${bad}"`));
    const html = planHtml(document);
    expect(readMarkup(html)).not.toContain('script');
    // biome-ignore lint/suspicious/noControlCharactersInRegex: their absence is the test
    const controls = /[\u0000-\u0009\u000b-\u001f\u202e]/;
    for (const text of [html, planText(document), ...sheetsOf(document)]) expect(text).not.toMatch(controls);
    expect(document.passes[0].captures[0].file).toMatch(/^p1-[\p{L}\p{N}-]+\.wav$/u);
  });

  it('an independent XML reader takes it', async (context) => {
    needTool(context, 'python3');
    const script = 'import sys; from xml.etree import ElementTree; ElementTree.parse(sys.stdin.buffer)';
    const input = planHtml(await planOf(SHEET)).replace('<!DOCTYPE html>\n', '');
    const { status, stderr } = spawnSync('python3', ['-c', script], { input, encoding: 'utf8' });
    expect(status, stderr).toBe(0);
  });
});
