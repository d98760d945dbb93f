// `npm run score`: damages real recordings in known ways, examines them, and counts what was found: recall over visible
// bursts, precision and false alarms per channel-hour, per class. Writes docs/scores.md. Not a test: it measures.
import { memorySource, rate } from '../src/base/index.ts';
import { DETECTORS, examineSource, type Finding, isLoss } from '../src/examine/index.ts';
import { Random } from '../src/signal/index.ts';
import { conceal, damageOf, type TruthEvent } from '../src/simulate/index.ts';
import { largeMaterial, loadMaterial, type Material } from './material.ts';
import { burstsOf, SCENARIOS, type Scenario } from './scenarios.ts';
import { writeDocument } from './section.ts';
import { type ClassTally, newTally, scoresDocument } from './table.ts';
import { isVisible, levelClass } from './visible.ts';

const SEED = 20_261_125;
/** one burst in so many frames, on average */
const EVERY = 6000;

const detectors = DETECTORS.filter((d) => ['interpolated', 'held', 'muted', 'repeated'].includes(d.meta.id));

async function examine(material: Material, planes: readonly Int32Array[]): Promise<readonly Finding[]> {
  const source = memorySource(planes, { name: material.name, rate: rate(material.rateHz), bits: material.bits });
  return (await examineSource(source, detectors)).findings.filter(isLoss);
}

async function scoreScenario(material: Material, scenario: Scenario, tally: ClassTally): Promise<void> {
  const random = new Random(SEED).fork(`${material.name} ${scenario.id}`);
  const frames = material.planes[0].length;
  const losses = material.planes.flatMap((_, c) => burstsOf(scenario, c + 1, frames, EVERY, random));
  const damage = damageOf(material.planes.length, frames, [losses]);
  const policy = { rules: [{ upTo: Number.POSITIVE_INFINITY, method: scenario.method(random) }] };
  const { planes, events } = conceal({ planes: material.planes }, damage, policy);
  const bursts = joinBursts(events, losses);
  count(material, bursts, await examine(material, planes), tally);
}

/** A burst on a lattice comes as many events: one per lost stretch. The score counts the burst. */
function joinBursts(
  events: readonly TruthEvent[],
  losses: readonly { channel: number; start: number; length: number }[],
) {
  return losses.flatMap((loss): TruthEvent[] => {
    const own = events
      .filter(
        (e) =>
          e.channel === loss.channel &&
          e.start + e.length > loss.start - 2000 &&
          e.start < loss.start + loss.length + 2000,
      )
      .filter((e) => e.start < loss.start + loss.length && loss.start < e.start + e.length);
    if (own.length === 0) return [];
    const start = Math.min(...own.map((e) => e.start));
    const end = Math.max(...own.map((e) => e.start + e.length));
    const sum = (value: (e: TruthEvent) => number) => own.reduce((all, e) => all + value(e), 0);
    return [{ ...own[0], start, length: end - start, samples: sum((e) => e.samples), changed: sum((e) => e.changed) }];
  });
}

function count(
  material: Material,
  bursts: readonly TruthEvent[],
  findings: readonly Finding[],
  tally: ClassTally,
): void {
  const overlaps = (f: Finding, b: TruthEvent) =>
    f.channels.includes(b.channel) && f.start < b.start + b.length && b.start < f.start + f.length;
  for (const burst of bursts) {
    const original = material.planes[burst.channel - 1];
    const visible = isVisible(original, burst, 1);
    const found = findings.some((f) => f.kind === burst.kind && overlaps(f, burst));
    const level = (tally.levels[levelClass(original, burst, material.bits)] ??= { bursts: 0, visible: 0, found: 0 });
    for (const row of [tally, level]) {
      row.bursts++;
      if (visible) row.visible++;
      if (visible && found) row.found++;
    }
    if (!visible && found) tally.foundInvisible++;
  }
  for (const finding of findings) {
    const right = bursts.some((b) => b.kind === finding.kind && overlaps(finding, b));
    const other = !right && bursts.some((b) => overlaps(finding, b));
    tally.findings++;
    if (right) tally.right++;
    else if (other) tally.otherClass++;
  }
}

/** Undamaged sound by the hour: what is found there is a false alarm. */
async function countAlarms(material: Material): Promise<void> {
  channelSeconds += (material.planes.length * material.planes[0].length) / material.rateHz;
  for (const finding of await examine(material, material.planes)) {
    alarms.push(`${material.name}: ${finding.kind} at ${finding.start}, ${finding.length} frames`);
  }
}

const materials = await loadMaterial();
let channelSeconds = 0;
const alarms: string[] = [];
for (const material of materials) await countAlarms(material);
if (process.argv.includes('--large')) {
  for await (const material of largeMaterial()) {
    await countAlarms(material);
    process.stderr.write(
      `${material.name}: ${(channelSeconds / 3600).toFixed(2)} channel-hours, ${alarms.length} alarms\n`,
    );
  }
}
const tallies: ClassTally[] = [];
for (const scenario of SCENARIOS) {
  const tally = newTally(scenario.id, scenario.kind);
  for (const material of materials) await scoreScenario(material, scenario, tally);
  tallies.push(tally);
}
const text = scoresDocument({ seed: SEED, materials, tallies, channelSeconds, alarms });
writeDocument(text);
process.stdout.write(text);
