// Exact small tables; widths of letters after Unicode (combining marks 0, East Asian wide 2).
import fc from 'fast-check';
import { expect, test } from 'vitest';
import { textTable, textWidth, wrapText } from './text-table.ts';

test('words to the left, numbers to the right, no spaces at line ends', () => {
  const table = textTable(
    [{ header: 'file' }, { header: 'frames', align: 'right' }, { header: 'state' }],
    [
      ['a.wav', '12', 'whole'],
      ['longer.wav', '1234567', 'x'],
    ],
  );
  expect(table).toBe(
    [
      'file         frames  state',
      '----------  -------  -----',
      'a.wav            12  whole',
      'longer.wav  1234567  x',
    ].join('\n'),
  );
});

test('the flexible column wraps, long words are cut', () => {
  const table = textTable(
    [{ header: 'a' }, { header: 'why', flexible: true }],
    [['1', 'one two three abcdefghijklmnop']],
    {
      width: 13,
    },
  );
  expect(table).toBe(['a  why', '-  ----------', '1  one two', '   three', '   abcdefghij', '   klmnop'].join('\n'));
});

test('letters that take no cell or two', () => {
  expect(textWidth('e\u0301')).toBe(1);
  expect(textWidth('\u6f22\u5b57')).toBe(4);
  expect(textWidth('\u00e4\u00df')).toBe(2);
  const table = textTable(
    [{ header: 'name' }, { header: 'n' }],
    [
      ['\u6f22\u5b57x', '1'],
      ['abcde', '2'],
    ],
  );
  expect(table.split('\n')[2]).toBe('\u6f22\u5b57x  1');
});

test('no rows, no table; a paragraph hangs', () => {
  expect(textTable([{ header: 'a' }], [])).toBe('');
  expect(wrapText('- one two three', { width: 9, hang: 2 })).toBe('- one\n  two\n  three');
});

test('no line is wider than asked, no letter is lost (random cells)', () => {
  const cell = fc.string({ maxLength: 60 }).map((text) => text.replace(/[^!-~]|-/g, ' '));
  fc.assert(
    fc.property(
      fc.array(fc.tuple(cell, cell, cell), { minLength: 1, maxLength: 6 }),
      fc.integer({ min: 30, max: 100 }),
      (rows, width) => {
        const table = textTable(
          [{ header: 'a' }, { header: 'b', align: 'right' }, { header: 'c', flexible: true }],
          rows,
          { width },
        );
        for (const line of table.split('\n')) expect(line.length).toBeLessThanOrEqual(width);
        const letters = (text: string) => [...text.replace(/\s/g, '')].sort().join('');
        const body = table.split('\n').filter((line) => !/^-+( +-+)*$/.test(line));
        expect(letters(body.join(''))).toBe(letters(['a', 'b', 'c', ...rows.flat()].join('')));
      },
    ),
    { numRuns: 100 },
  );
});
