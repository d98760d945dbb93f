// Clicks of one to three samples in undamaged sound, of every height: how many are found, and how tall they must be. A click
// counts as visible when its own fourth difference is at least eight times the largest within 160 frames (own choice: no
// published definition).
import { memorySource, rate } from '../src/base/index.ts';
import { examineSource } from '../src/examine/index.ts';
import { Random } from '../src/signal/index.ts';
import { binOf } from './damage-piece.ts';
import { load, type Recording } from './recordings.ts';
import { type BurstRow, type FindingRow, type Row, SCORED } from './rows.ts';
import { levelClass } from './visible.ts';

const EVERY = 9000;
const REACH = 160;
const CLEAR = 8;
/** A finding may lie so many frames beside the click. */
const NEAR = 3;

interface Click {
  readonly channel: number;
  readonly start: number;
  readonly length: number;
  readonly isVisible: boolean;
}

export async function clickPiece(recordings: readonly Recording[], seed: number): Promise<Row[]> {
  const rows: Row[] = [];
  for (const recording of recordings) {
    const planes = load(recording, recording.rateHz, 16);
    const random = new Random(seed).fork(`${recording.name} clicks`);
    const clicks = planes.flatMap((plane, c) => addClicks(plane, c + 1, random));
    if (clicks.length === 0) continue;
    const source = memorySource(planes, { name: recording.name, rate: rate(recording.rateHz), bits: 16 });
    const found = (await examineSource(source, SCORED)).findings.filter((finding) => finding.kind === 'click');
    const isOn = (f: (typeof found)[number], click: Click) =>
      f.channels.includes(click.channel) &&
      f.start <= click.start + click.length + NEAR &&
      click.start <= f.start + f.length + NEAR;
    const { name, half } = recording;
    const bursts = new Map<string, BurstRow>();
    for (const click of clicks) {
      const level = levelClass(planes[click.channel - 1], { ...click, kind: 'click', changed: click.length }, 16);
      const place = { recording: name, half, kind: 'click', level, spectrum: 'all', length: 0 };
      const row = bursts.get(level) ?? { row: 'burst', ...place, bursts: 0, visible: 0, found: 0, invisibleFound: 0 };
      bursts.set(level, row);
      const isFound = found.some((finding) => isOn(finding, click));
      row.bursts++;
      if (click.isVisible) row.visible++;
      if (isFound && click.isVisible) row.found++;
      if (isFound && !click.isVisible) row.invisibleFound++;
    }
    const bins = new Map<string, FindingRow>();
    for (const finding of found) {
      const bin = binOf(finding.confidence);
      const place = { recording: name, half, kind: 'click', bin };
      const row = bins.get(bin) ?? { row: 'finding', ...place, findings: 0, right: 0, otherClass: 0 };
      bins.set(bin, row);
      row.findings++;
      if (clicks.some((click) => isOn(finding, click))) row.right++;
    }
    rows.push(...bursts.values(), ...bins.values());
  }
  return rows;
}

/** Heights from a few steps to a quarter of full scale, evenly in decibels. Changes the plane. */
function addClicks(plane: Int32Array, channel: number, random: Random): Click[] {
  const clicks: Click[] = [];
  for (let at = EVERY / 2; at + EVERY < plane.length; at += EVERY * (0.5 + random.uniform())) {
    const start = Math.floor(at);
    const length = 1 + random.integer(3);
    const height = Math.round(2 ** (3 + 10 * random.uniform())) * (random.integer(2) === 0 ? 1 : -1);
    let around = 0;
    for (let i = start - REACH; i < start + REACH; i++) around = Math.max(around, fourthDifference(plane, i));
    let own = 0;
    for (let k = 0; k < length; k++) {
      plane[start + k] = Math.max(-32_768, Math.min(32_767, plane[start + k] + height));
    }
    for (let i = start - 4; i < start + length + 4; i++) own = Math.max(own, fourthDifference(plane, i));
    clicks.push({ channel, start, length, isVisible: own >= CLEAR * Math.max(16, around) });
  }
  return clicks;
}

function fourthDifference(x: Int32Array, i: number): number {
  return Math.abs(x[i - 2] + x[i + 2] - 4 * (x[i - 1] + x[i + 1]) + 6 * x[i]);
}
