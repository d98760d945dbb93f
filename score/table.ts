// The tables of docs/scores.md.
import type { Material } from './material.ts';

interface Counts {
  bursts: number;
  visible: number;
  /** of the visible ones */
  found: number;
}

export interface ClassTally extends Counts {
  readonly scenario: string;
  readonly kind: string;
  foundInvisible: number;
  findings: number;
  right: number;
  /** findings on a real burst, but of another class */
  otherClass: number;
  readonly levels: Record<string, Counts>;
}

export function newTally(scenario: string, kind: string): ClassTally {
  return {
    scenario,
    kind,
    bursts: 0,
    visible: 0,
    found: 0,
    foundInvisible: 0,
    findings: 0,
    right: 0,
    otherClass: 0,
    levels: {},
  };
}

export interface Scores {
  readonly seed: number;
  readonly materials: readonly Material[];
  readonly tallies: readonly ClassTally[];
  readonly channelSeconds: number;
  readonly alarms: readonly string[];
}

export function scoresDocument({ seed, materials, tallies, channelSeconds, alarms }: Scores): string {
  const hours = channelSeconds / 3600;
  return `# Scores of the loss detectors

Made by \`npm run score\` (seed ${seed}); every number is counted, none is typed. Real recordings, damaged in known ways by
\`src/simulate\`, then examined. A burst is *visible* when (local chance of one such sample)^(samples changed) x (frames) < 0.01,
with the chance taken from the undamaged sound around it (1.2 / spread of second differences for interpolation, 0.4 / spread of
first differences for holds, mutes and repeats). Found = a finding of the right class touches the burst. The detectors were tuned while
looking at these recordings, so expect less on others; \`npm run score -- --large\` counts false alarms on hours of other sound.

## By scenario

${table(
  [
    'scenario',
    'class',
    'bursts',
    'visible',
    'recall of visible',
    'precision',
    'right place, other class',
    'invisible yet found',
  ],
  tallies.map((t) => [
    t.scenario,
    t.kind,
    t.bursts,
    percent(t.visible, t.bursts),
    percent(t.found, t.visible),
    percent(t.right, t.findings),
    t.otherClass,
    t.foundInvisible,
  ]),
)}

## By class

${table(
  ['class', 'bursts', 'visible', 'recall of visible', 'precision'],
  [...new Set(tallies.map((t) => t.kind))].map((kind) => {
    const own = tallies.filter((t) => t.kind === kind);
    const sum = (value: (t: ClassTally) => number) => own.reduce((all, t) => all + value(t), 0);
    return [
      kind,
      sum((t) => t.bursts),
      percent(
        sum((t) => t.visible),
        sum((t) => t.bursts),
      ),
      percent(
        sum((t) => t.found),
        sum((t) => t.visible),
      ),
      percent(
        sum((t) => t.right),
        sum((t) => t.findings),
      ),
    ];
  }),
)}

## By level around the burst (mean level, dB below full scale; all scenarios)

${table(['level dB', 'bursts', 'visible', 'recall of visible'], levelRows(tallies))}

## False alarms on the undamaged recordings

${hours.toFixed(2)} channel-hours, ${alarms.length} findings: ${(alarms.length / hours).toFixed(1)} per channel-hour.
${alarms.map((a) => `- ${a}`).join('\n')}

## Material

${materials.map((m) => `- ${m.name} (${m.kind}), ${m.planes.length} x ${(m.planes[0].length / m.rateHz).toFixed(1)} s, ${m.rateHz} Hz, ${m.bits} bit`).join('\n')}
`;
}

function levelRows(tallies: readonly ClassTally[]): (string | number)[][] {
  const names = [...new Set(tallies.flatMap((t) => Object.keys(t.levels)))];
  const order = (name: string) => (name.startsWith('below') ? -999 : Number.parseInt(name, 10));
  return names
    .sort((a, b) => order(b) - order(a))
    .map((name) => {
      const own = tallies.map((t) => t.levels[name]).filter((c) => c !== undefined);
      const sum = (value: (c: Counts) => number) => own.reduce((all, c) => all + value(c), 0);
      const bursts = sum((c) => c.bursts);
      const visible = sum((c) => c.visible);
      return [
        name,
        bursts,
        percent(visible, bursts),
        percent(
          sum((c) => c.found),
          visible,
        ),
      ];
    });
}

function percent(part: number, whole: number): string {
  return whole === 0 ? 'none' : `${((100 * part) / whole).toFixed(1)} %`;
}

function table(head: readonly string[], rows: readonly (readonly (string | number)[])[]): string {
  return [head, head.map(() => '---'), ...rows].map((row) => `| ${row.join(' | ')} |`).join('\n');
}
