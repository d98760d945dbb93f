// Clicks of one to three samples in undamaged sound, of every height: how many are found, and how tall they must be. Added to the
// sound, or in its place, whatever it was. A click counts as visible when its own fourth difference is at least eight times the
// largest within 160 frames (own choice: no published definition).
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

/** What a click does to the samples. */
export type ClickKind = 'added' | 'replaced';

export async function clickPiece(kind: ClickKind, recordings: readonly Recording[], seed: number): Promise<Row[]> {
  const rows: Row[] = [];
  for (const recording of recordings) {
    const planes = load(recording, recording.rateHz, 16);
    const random = new Random(seed).fork(`${recording.name} clicks${kind === 'added' ? '' : ` ${kind}`}`);
    const clicks = planes.flatMap((plane, c) => plantClicks(plane, c + 1, DAMAGE[kind], random));
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
      const place = { recording: name, half, kind: 'click', level, spectrum: 'all', length: click.length };
      const key = `${level} ${click.length}`;
      const row = bursts.get(key) ?? { row: 'burst', ...place, bursts: 0, visible: 0, found: 0, invisibleFound: 0 };
      bursts.set(key, row);
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

/** Gives the samples that stand in the place of those given. */
type Damage = (samples: Int32Array, random: Random) => Int32Array;

const DAMAGE: { readonly [kind in ClickKind]: Damage } = {
  /** one height for all, from a few steps to a quarter of full scale, evenly in decibels */
  added: (samples, random) => {
    const height = Math.round(2 ** (3 + 10 * random.uniform())) * (random.integer(2) === 0 ? 1 : -1);
    return samples.map((x) => x + height);
  },
  /** each a value of its own, below a limit from a few steps to full scale, evenly in decibels */
  replaced: (samples, random) => {
    const limit = 2 ** (3 + 12 * random.uniform());
    return samples.map(() => Math.round(limit * (2 * random.uniform() - 1)));
  },
};

/** Changes the plane. */
function plantClicks(plane: Int32Array, channel: number, damage: Damage, random: Random): Click[] {
  const clicks: Click[] = [];
  for (let at = EVERY / 2; at + EVERY < plane.length; at += EVERY * (0.5 + random.uniform())) {
    const start = Math.floor(at);
    const length = 1 + random.integer(3);
    const damaged = damage(plane.slice(start, start + length), random);
    let around = 0;
    for (let i = start - REACH; i < start + REACH; i++) around = Math.max(around, fourthDifference(plane, i));
    let own = 0;
    for (let k = 0; k < length; k++) plane[start + k] = Math.max(-32_768, Math.min(32_767, damaged[k]));
    for (let i = start - 4; i < start + length + 4; i++) own = Math.max(own, fourthDifference(plane, i));
    clicks.push({ channel, start, length, isVisible: own >= CLEAR * Math.max(16, around) });
  }
  return clicks;
}

function fourthDifference(x: Int32Array, i: number): number {
  return Math.abs(x[i - 2] + x[i + 2] - 4 * (x[i - 1] + x[i + 1]) + 6 * x[i]);
}
