// Both faces of one report: the same facts, nothing from the network, hostile text harmless. Well-formedness is judged by
// an XML reader of another maker and by a small own one.
import { spawnSync } from 'node:child_process';
import { expect, test } from 'vitest';
import { needTool } from '../media/testing/tools.ts';
import { buildReport, type ReportInput } from './build-report.ts';
import { reportHtml } from './report-html.ts';
import { MOST_ROWS } from './report-table.ts';
import { reportText } from './report-text.ts';
import { readMarkup } from './testing/read-markup.ts';
import { LOST, runsOf, sampleInput } from './testing/sample-report.ts';
import { textWidth } from './text-table.ts';

const HOSTILE = '</style><script>alert(1)</script>"\'& \u001b[31m\u202e\u0000 <img src=x onerror=alert(1)>';

function hostileInput(): ReportInput {
  const input = sampleInput();
  const captures = input.captures.map((capture) => ({
    ...capture,
    path: `${HOSTILE}${capture.path}`,
    deck: HOSTILE,
    notes: HOSTILE,
    findings: capture.findings.map((finding) => ({
      ...finding,
      kind: finding.kind === 'held' ? HOSTILE : finding.kind,
    })),
  }));
  return { ...input, captures, tape: { ...input.tape, id: HOSTILE, notes: HOSTILE }, cautions: [HOSTILE] };
}

function check(input: ReportInput): string {
  const html = reportHtml(buildReport(input));
  const names = readMarkup(html);
  expect(names).not.toContain('script');
  expect(names).not.toContain('img');
  expect(/https?:|@import|url\((?!#)/.exec(html)?.[0]).toBeUndefined();
  return html;
}

test('the page is well formed, self-contained and says its language', () => {
  const html = check(sampleInput());
  expect(html).toMatch(/^<!DOCTYPE html>\n<html lang="en-GB"><head><meta charset="utf-8"\/>/);
  const ids = [...html.matchAll(/ id="([^"]+)"/g)].map(([, id]) => id);
  expect(new Set(ids).size).toBe(ids.length);
  for (const [, target] of html.matchAll(/href="#([^"]+)"/g)) expect(ids).toContain(target);
  for (const [, names] of html.matchAll(/aria-labelledby="([^"]+)"/g)) {
    for (const id of names.split(' ')) expect(ids).toContain(id);
  }
  expect(html.match(/<svg viewBox/g)?.length).toBe(html.match(/<title id=/g)?.length);
});

test('hostile text stays text on the page and in the terminal', () => {
  const html = check(hostileInput());
  expect(html.includes('&lt;script&gt;alert(1)&lt;/script&gt;')).toBe(true);
  // biome-ignore lint/suspicious/noControlCharactersInRegex: their absence is the test
  expect(/[\u0000-\u0008\u001b\u202e]/.test(html)).toBe(false);
  const text = reportText(buildReport(hostileInput()));
  // biome-ignore lint/suspicious/noControlCharactersInRegex: their absence is the test
  expect(text).not.toMatch(/[\u0000-\u0009\u000b-\u001f\u202e]/);
});

test('an independent XML reader (expat, through Python) takes the page', (context) => {
  const python = needTool(context, '/usr/bin/python3');
  for (const input of [sampleInput(), hostileInput()]) {
    const script = 'import sys; from xml.etree import ElementTree; ElementTree.parse(sys.stdin.buffer)';
    const run = spawnSync(python, ['-c', script], { input: reportHtml(buildReport(input)), encoding: 'utf8' });
    expect(run.stderr).toBe('');
    expect(run.status).toBe(0);
  }
});

test('the sentence stands first in both faces, and every statement and caution in each', () => {
  const report = buildReport(sampleInput());
  const html = reportHtml(report);
  const text = reportText(report).replace(/\s+/g, ' ');
  expect(html.indexOf(report.sentence)).toBeGreaterThan(0);
  expect(html.indexOf(report.sentence)).toBeLessThan(html.indexOf('<h2'));
  for (const said of [report.sentence, ...report.statements, ...report.cautions, ...report.detectionLimits]) {
    expect(text).toContain(said);
    expect(html).toContain(said.replaceAll("'", '&#39;'));
  }
});

test('plain text keeps to 100 columns, whatever the names', () => {
  const long = sampleInput();
  const captures = long.captures.map((capture) => ({ ...capture, path: `${'folder/'.repeat(30)}${capture.path}` }));
  for (const input of [sampleInput(), hostileInput(), { ...long, captures }]) {
    for (const line of reportText(buildReport(input)).split('\n')) expect(textWidth(line)).toBeLessThanOrEqual(100);
  }
});

test('thousands of runs: the faces list the weightiest and say how many more there are', () => {
  const input = sampleInput();
  const holes = Array.from({ length: 3000 }, (_, i): [number, number, 'unproven', string] => [
    i * 9000,
    1 + (i % 50),
    'unproven',
    LOST,
  ]);
  const runs = runsOf(1, 'proven', holes);
  const report = buildReport({ ...input, groups: [{ ...input.groups[0], runs }] });
  const text = reportText(report);
  const more = runs.length - MOST_ROWS;
  expect(text).toContain(`${more} more runs in report.json`);
  expect(text.length).toBeLessThan(150_000);
  const html = reportHtml(report);
  expect(html).toContain(`${more} more runs in report.json`);
  expect(html.length).toBeLessThan(900_000);
  expect(report.provenance).toHaveLength(runs.length);
});

test('an empty report still stands: no captures, no channels, nothing read', () => {
  const input = sampleInput();
  const alignment = { reference: 0, placements: [], slips: [], loops: [], groups: [] };
  const empty = { ...input, captures: [], alignment, groups: [], detectors: [], levels: [], codeBooks: [] };
  const report = buildReport(empty);
  expect(report.totals).toMatchObject({ frames: 0, lostFrames: 0 });
  expect(report.sentence).toBe('No recording could be assembled; nothing is proven.');
  readMarkup(reportHtml(report));
  expect(reportText(report)).toContain('No master was written.');
});
