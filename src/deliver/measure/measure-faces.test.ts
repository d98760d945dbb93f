// The parts of the measurement's faces that need no capture: how numbers are written, what plots hold, what a table of values must quote.
import { describe, expect, it } from 'vitest';
import { measureCsv } from './measure-csv.ts';
import { CURVES } from './measure-curves.ts';
import { measureHtml } from './measure-html.ts';
import { measuredText } from './measure-quantities.ts';
import { measureText } from './measure-text.ts';
import { curveDrawing } from './svg-curves.ts';

describe('a measured number', () => {
  it.each([
    [{ value: 97.056, uncertainty: 0.652 }, 1, '97.1 ± 0.7'],
    [{ value: -101.53, uncertainty: null, limit: 'at-most' as const }, 1, 'below -101.5'],
    [{ value: 0, uncertainty: null, limit: 'at-least' as const }, 1, 'at least 0.0'],
    [{ value: null, uncertainty: null }, 1, 'none'],
    [{ value: -0.001, uncertainty: 0.0004 }, 2, '0.00 ± 0.01'],
  ])('%j with %d digits reads %s', (one, digits, text) => {
    expect(measuredText(one, digits)).toBe(text);
  });
});

describe('a plot', () => {
  const kind = CURVES[0];
  const flat = [-60, -40, -20, 0].map((at) => ({ at, measured: { value: -90, uncertainty: 0.1 } }));
  const stairs = [-60, -40, -20, 0].map((at) => ({ at, measured: { value: -90 + (at + 60) / 2, uncertainty: 6 } }));

  it('has a line per series, its name, its title and its description', () => {
    const { markup } = curveDrawing('p', kind, [
      { name: 'flat <&>', points: flat },
      { name: 'stairs', points: stairs },
    ]);
    expect(markup.match(/class="curve curve-0"/g)?.length).toBe(2);
    expect(markup).toContain('flat &lt;&amp;&gt;');
    expect(markup).toContain('<title id="p-title">Noise against level</title>');
    expect(markup.match(/spread spread-1/g)?.length).toBe(4);
    expect(markup).not.toContain('spread spread-0');
  });

  it.each(CURVES.filter((one) => one.depthDb === undefined))('draws every value in its own place: $id', (one) => {
    const deep = [0, -40, -100, -140].map((value, k) => ({ at: 30 * (k + 1), measured: { value, uncertainty: 0.1 } }));
    const { markup } = curveDrawing('p', one, [{ name: 'a', points: deep }]);
    const [, points] = /points="([^"]+)" class="curve curve-0"/.exec(markup) ?? [];
    const heights = points.split(' ').map((pair) => Number(pair.split(',')[1]));
    const unit = heights[1] - heights[0];
    expect(heights.map((height) => ((height - heights[0]) / unit) * -40)).toEqual(
      [0, -40, -100, -140].map((value) => expect.closeTo(value, 0)),
    );
  });

  it('says so where nothing was measured', () => {
    const none = flat.map(({ at }) => ({ at, measured: { value: null, uncertainty: null } }));
    expect(curveDrawing('p', kind, [{ name: 'a', points: none }]).markup).toContain('not measured');
  });

  it('keeps points inside the frame and leaves out what was not measured', () => {
    const holes = [...flat, { at: -10, measured: { value: null, uncertainty: null } }];
    const { markup } = curveDrawing('p', kind, [{ name: 'a', points: holes }]);
    const [, points] = /points="([^"]+)" class="curve curve-0"/.exec(markup) ?? [];
    expect(points.split(' ').length).toBe(4);
    for (const pair of points.split(' ')) expect(pair).toMatch(/^\d+(\.\d+)?,\d+(\.\d+)?$/);
  });
});

it('a table of values without captures is its head', () => {
  expect(measureCsv({ schema: 'tapeproof/measure@1', captures: [] })).toMatch(/^capture,channel,[a-z_,]+unit\r\n$/);
});

it('a capture that could not be measured keeps the lines of its error on every face', () => {
  const failed = [{ path: 'b.wav', error: 'b.wav: no such file\n  next:     check the name' }];
  const document = { schema: 'tapeproof/measure@1', captures: [], failed } as const;
  expect(measureText(document, { compare: true })).toContain(
    'b.wav: not measured\n  b.wav: no such file\n  next: check the name\n',
  );
  expect(measureHtml(document)).toContain('b.wav: no such file\n  next:     check the name');
});
