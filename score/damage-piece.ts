// One scenario over some recordings: damages them in known ways, examines them, and counts what was found and what was not.
import { memorySource, type Rate, rate } from '../src/base/index.ts';
import { examineSource, type Finding, isLoss } from '../src/examine/index.ts';
import { Random } from '../src/signal/index.ts';
import { conceal, damageOf, encodeTape, type Loss, type TruthEvent } from '../src/simulate/index.ts';
import { load, type Recording } from './recordings.ts';
import { type BurstRow, type FindingRow, type Row, SCORED } from './rows.ts';
import type { Scenario } from './scenarios.ts';
import { type Burst, isVisible, levelClass, spectrumClass } from './visible.ts';

export async function damagePiece(scenario: Scenario, recordings: readonly Recording[], seed: number): Promise<Row[]> {
  const rows: Row[] = [];
  for (const recording of recordings) {
    const damaged = damage(scenario, recording, new Random(seed).fork(`${recording.name} ${scenario.id}`));
    if (!damaged) continue;
    const { planes, bits, rate } = damaged;
    const source = memorySource(planes, { name: recording.name, rate, bits });
    const findings = (await examineSource(source, SCORED)).findings.filter(isLoss);
    rows.push(...burstRows(damaged, findings, recording, scenario.isFine === true));
    rows.push(...findingRows(damaged, findings, recording));
  }
  return rows;
}

interface Damaged {
  readonly planes: readonly Int32Array[];
  readonly originals: readonly Int32Array[];
  /** in which equal values and means are counted by chance: the codes of a law, the samples themselves without one */
  readonly counted: readonly Int32Array[];
  readonly bits: number;
  readonly rate: Rate;
  /** theirs */
  readonly step: number;
  readonly bursts: readonly Burst[];
}

/** Undefined where the recording is too short for one burst. */
function damage(scenario: Scenario, recording: Recording, random: Random): Damaged | undefined {
  const { linearBits, law } = scenario.word;
  const at = scenario.word.rate ?? rate(recording.rateHz);
  const sourceBits = linearBits > 16 || recording.bits > 16 || scenario.word.rate ? 24 : 16;
  const sound = { planes: load(recording, at.num / at.den, sourceBits), bits: sourceBits, rate: at };
  const frames = sound.planes[0]?.length ?? 0;
  const losses = scenario.losses(sound.planes.length, frames, random);
  if (losses.length === 0) return undefined;
  // A deck counts in the tape's word or in that of its output: finer values then betray it.
  const outputBits = Math.max(16, linearBits);
  const countedBits = random.integer(2) === 0 ? linearBits : outputBits;
  const tape = encodeTape(sound, { rate: at, wordBits: linearBits, outputBits: countedBits, law, shorten: 'round' });
  const { planes, events } = conceal(tape, damageOf(sound.planes.length, frames, [losses]), scenario.policy(random));
  const shift = outputBits - countedBits;
  const widen = (plane: Int32Array) => (shift === 0 ? plane : plane.map((x) => x << shift));
  return {
    planes: planes.map(widen),
    originals: tape.planes.map(widen),
    counted: tape.codes ?? tape.planes.map(widen),
    bits: outputBits,
    rate: at,
    step: tape.codes ? 1 : 2 ** (outputBits - linearBits),
    bursts: scenario.joins ? joinBursts(events, losses) : events,
  };
}

/** A burst on a lattice comes as many events: one per lost stretch. The score counts the burst. */
function joinBursts(events: readonly TruthEvent[], losses: readonly Loss[]): Burst[] {
  return losses.flatMap((loss): Burst[] => {
    const own = events.filter((e) => e.channel === loss.channel && overlaps(e, loss));
    if (own.length === 0) return [];
    const start = Math.min(...own.map((e) => e.start));
    const end = Math.max(...own.map((e) => e.start + e.length));
    const changed = own.reduce((all, e) => all + e.changed, 0);
    return [{ channel: loss.channel, kind: own[0].kind, start, length: end - start, changed }];
  });
}

function burstRows(damaged: Damaged, findings: readonly Finding[], recording: Recording, isFine: boolean): BurstRow[] {
  const rows = new Map<string, BurstRow>();
  for (const burst of damaged.bursts) {
    const original = damaged.originals[burst.channel - 1];
    const level = levelClass(original, burst, damaged.bits);
    const spectrum = isFine ? spectrumClass(original, burst) : 'all';
    const length = isFine ? burst.length : 0;
    const key = `${burst.kind} ${level} ${spectrum} ${length}`;
    const place = { recording: recording.name, half: recording.half, kind: burst.kind, level, spectrum, length };
    const row = rows.get(key) ?? { row: 'burst', ...place, bursts: 0, visible: 0, found: 0, invisibleFound: 0 };
    rows.set(key, row);
    const found = findings.some((f) => f.kind === burst.kind && isOn(f, burst));
    row.bursts++;
    if (isVisible(damaged.counted[burst.channel - 1], burst, damaged.step)) {
      row.visible++;
      if (found) row.found++;
    } else if (found) row.invisibleFound++;
  }
  return [...rows.values()];
}

const BINS = [0.999, 0.99, 0.98, 0.95, 0.9, 0.5] as const;

/** "0.99" holds confidences from 0.99 to below the next bin. */
export function binOf(confidence: number): string {
  return `${BINS.find((least) => confidence >= least) ?? 0}`;
}

function findingRows({ bursts }: Damaged, findings: readonly Finding[], recording: Recording): FindingRow[] {
  const rows = new Map<string, FindingRow>();
  for (const finding of findings) {
    const bin = binOf(finding.confidence);
    const key = `${finding.kind} ${bin}`;
    const place = { recording: recording.name, half: recording.half, kind: finding.kind, bin };
    const row = rows.get(key) ?? { row: 'finding', ...place, findings: 0, right: 0, otherClass: 0 };
    rows.set(key, row);
    row.findings++;
    if (bursts.some((b) => b.kind === finding.kind && isOn(finding, b))) row.right++;
    else if (bursts.some((b) => isOn(finding, b))) row.otherClass++;
  }
  return [...rows.values()];
}

interface Stretch {
  readonly start: number;
  readonly length: number;
}

function overlaps(a: Stretch, b: Stretch): boolean {
  return a.start < b.start + b.length && b.start < a.start + a.length;
}

function isOn(finding: Finding, burst: Burst): boolean {
  return finding.channels.includes(burst.channel) && overlaps(finding, burst);
}
