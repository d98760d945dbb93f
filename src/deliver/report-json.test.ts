// The pieces of report.json are the JSON of the model and nothing else.
import { expect, it } from 'vitest';
import { reportJson } from './report-json.ts';
import type { TransferReport } from './report-model.ts';

it.each([0, 1, 3])('is the same data as the model, with %i runs', (count) => {
  const run = {
    channel: 1,
    start: 0,
    length: 5,
    source: null,
    state: 'unproven',
    reason: 'a "quoted" reason',
    lost: false,
  };
  const report = { schema: 'tapeproof/report@1', nested: { a: [1, 2] }, provenance: Array(count).fill(run) };
  const text = [...reportJson(report as unknown as TransferReport)].join('');
  expect(JSON.parse(text)).toEqual(report);
  expect(text.split('\n').filter((line) => line.includes('quoted'))).toHaveLength(count);
});
