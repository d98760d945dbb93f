// The text faces of the examine, align and format documents: every figure of the document that a person needs stands in the
// text, lines stay within 100 columns, long lists are cut and say so.
import { expect, test } from 'vitest';
import { rate } from '../base/index.ts';
import { describeFormat, findFormat, listFormats } from '../tape/index.ts';
import { alignText } from './align-text.ts';
import { alignDocument, type ExaminedFile, examineDocument } from './documents.ts';
import { examineText } from './examine-text.ts';
import { formatListText, formatSheetText, formatsDocument } from './format-sheet.ts';
import { sampleFinding, sampleInput } from './testing/sample-report.ts';
import { textWidth } from './text-table.ts';

const FILE: ExaminedFile = {
  path: 'p1-north.wav',
  container: 'wave',
  frames: 480_000,
  channels: 2,
  rate: rate(48_000),
  containerBits: 24,
  readAs: 'partial',
  problems: [
    {
      id: 'data-truncated',
      severity: 'damage',
      message: 'ends early',
      offset: 44,
      expected: '9 bytes',
      found: '8 bytes',
    },
  ],
  digests: { file: { sha256: '0123456789abcdef'.repeat(4) }, audio: { sha256: 'fedcba9876543210'.repeat(4) } },
  findings: [
    ...Array.from({ length: 12 }, (_, i) => sampleFinding('interpolated', i * 1000, 4 + i, [1])),
    sampleFinding('muted', 240_000, 4800, [1, 2]),
    sampleFinding('clipped', 5, 3, [2]),
  ],
  verdicts: [
    {
      channel: 1,
      question: 'word-length',
      answer: 16,
      confidence: 0.99995,
      detectionLimit: 'one in a million',
      evidence: {},
    },
    {
      channel: 2,
      question: 'word-length',
      answer: 'cannot tell',
      confidence: 0.5,
      detectionLimit: 'one in a million',
      evidence: {},
    },
    { channel: 1, question: 'recorded', answer: true, confidence: 1, detectionLimit: '', evidence: {} },
    {
      channel: 0,
      question: 'identical channels',
      answer: 'none',
      confidence: 1,
      detectionLimit: 'all frames',
      evidence: {},
    },
  ],
  detectors: [{ id: 'x', version: 1, label: 'Skew', settings: {}, notApplicable: 'needs 10 s of sound' }],
};

function narrow(text: string): string {
  for (const line of text.split('\n')) expect(textWidth(line)).toBeLessThanOrEqual(100);
  return text;
}

test('examine: what a person needs of a file', () => {
  const text = narrow(examineText(examineDocument([FILE], [{ path: 'gone.wav', error: 'gone.wav: no such file' }])));
  const flat = text.replace(/ +/g, ' ');
  expect(flat).toContain('wave, 2 channels, 24 bit, 48000 Hz, 0:00:10.000 (480000 frames), read only in part');
  expect(flat).toContain('SHA-256 of the file 0123456789ab…, of the audio fedcba987654…');
  expect(flat).toContain('13 losses seen');
  expect(flat).toContain('damage 44 ends early; expected 9 bytes; found 8 bytes');
  expect(flat).toContain('1 yes (> 99.99 %) 16 (> 99.99 %)');
  expect(flat).toContain('2 - cannot tell (50 %)');
  // 12 losses of 4..15 frames: 114 frames
  expect(flat).toContain(`1 interpolated 12 114 ${(114 / 48_000).toFixed(4)} 0.002`);
  expect(flat).toContain('2 muted 1 4800 0.1000 0.002');
  expect(flat).toContain('2 clipped 1 3 0.0001 0.002');
  expect(flat).toContain('0:00:05.000 240000-244799 0.10 s muted channels 1-2 99.96 %');
  expect(flat).toContain('and 3 more losses; --json lists all');
  expect(flat).toContain('Skew needs 10 s of sound');
  expect(flat).toContain('word-length: one in a million (channels 1-2)');
  expect(flat).toContain('gone.wav: not read');
});

test('examine: a clean file says what that is worth', () => {
  const text = examineText(examineDocument([{ ...FILE, findings: [], problems: [], readAs: 'whole' }]));
  expect(text).toContain('no loss seen (see the detection limits)');
  expect(text).not.toContain('Problems');
});

test('the examine document holds exactly the promised keys, in order', () => {
  const document = examineDocument([{ ...FILE, ...{ extra: 1 } } as ExaminedFile]);
  expect(document.schema).toBe('tapeproof/examine@1');
  expect(Object.keys(document.files[0])).toEqual([
    ...['path', 'container', 'frames', 'channels', 'rate', 'containerBits', 'readAs', 'problems', 'digests'],
    ...['findings', 'verdicts', 'detectors'],
  ]);
});

test('align: places, slips, reasons, and the promised keys', () => {
  const { alignment, captures } = sampleInput();
  const segments = [
    { start: 0, length: 100, offset: 0 },
    { start: 100, length: 900, offset: 24 },
  ];
  const placements = alignment.placements.map((p) => (p.capture === 2 ? { ...p, segments } : p)).reverse();
  const document = alignDocument(
    captures.map((capture) => capture.path),
    { ...alignment, placements },
  );
  expect(document.schema).toBe('tapeproof/align@1');
  expect(document.reference).toBe('p1-north.wav');
  expect(document.captures.map((capture) => capture.path)).toEqual(captures.map((capture) => capture.path));
  expect(document.captures[2]).toMatchObject({ relation: 'bit-equal', segments, driftPpm: 0, uncertaintyFrames: 0 });
  expect('capture' in document.captures[0]).toBe(false);
  const flat = narrow(alignText(document)).replace(/ +/g, ' ');
  expect(flat).toContain('p1-south.wav bit-equal 4800 exact 0 99.998 %');
  expect(flat).toContain('p2-north.wav 100 900 24');
  expect(flat).toContain('p2-north.wav 9600000 24 samples lost offset changes by 24 at this frame');
});

test('align: a refused capture keeps its reason and its own part', () => {
  const { alignment, captures } = sampleInput();
  const placements = alignment.placements.map((p) =>
    p.capture === 4
      ? {
          ...p,
          group: 1,
          segments: [],
          driftPpm: null,
          uncertaintyFrames: null,
          comparedFrames: 0,
          reason: 'an overlap would help',
        }
      : p,
  );
  const text = alignText(
    alignDocument(
      captures.map((c) => c.path),
      { ...alignment, placements },
    ),
  );
  expect(text.replace(/ +/g, ' ')).toContain('p3-north.wav 2 bit-equal - - - -');
  expect(text).toContain('an overlap would help');
});

test('formats: every row of a sheet with its mark, the list with every id', () => {
  for (const format of listFormats()) {
    const flat = narrow(formatSheetText(format)).replace(/\s+/g, ' ');
    for (const { group, rows } of describeFormat(format)) {
      expect(flat).toContain(group);
      for (const row of rows) expect(flat).toContain(row.certainty);
    }
  }
  const list = narrow(formatListText(listFormats()));
  for (const { id } of listFormats()) expect(list).toContain(id);
  const [one] = formatsDocument([findFormat('eight-mm-pcm-625')]).formats;
  expect(one).toMatchObject({ id: 'eight-mm-pcm-625', system: '625/50' });
  expect(JSON.parse(JSON.stringify(one))).toEqual(one);
});
