// docs/scores.md from the rows of the score: every number is counted, none is typed.

import { SAID } from './clean-piece.ts';
import {
  alarmsOf,
  burstsOf,
  findingsOf,
  groupsOf,
  type PlacedBurst,
  type PlacedFinding,
  percent,
  precisionCell,
  recallCells,
  soundsOf,
  sum,
  table,
} from './counts.ts';
import type { Half } from './halves.ts';
import { type AlarmRow, type PieceRows, type SoundRow, versionsText } from './rows.ts';

export interface Scores {
  readonly seed: number;
  readonly pieces: readonly PieceRows[];
  /** pieces on disk that other versions of the detectors made */
  readonly outdated: readonly string[];
}

const KINDS = ['interpolated', 'held', 'muted', 'repeated', 'click'] as const;

export function scoresDocument({ seed, pieces, outdated }: Scores): string {
  const isLimit = (row: { readonly piece: string }) => row.piece.includes('damage limit');
  const bursts = burstsOf(pieces);
  const findings = findingsOf(pieces);
  const damage = bursts.filter((row) => !isLimit(row));
  const said = findings.filter((row) => !isLimit(row));
  const alarms = alarmsOf(pieces).filter((row) => !(row.kind in SAID));
  const doubts = alarmsOf(pieces).filter((row) => row.kind in SAID);
  const parts = [
    intro(seed, pieces, outdated),
    `## By class\n\n${classTable(damage, said)}`,
    `## By word and format\n\nScoring half. A dash: no visible burst of that class.\n\n${groupTable(scoring(damage), scoring(said))}`,
    `## By level around the burst\n\nScoring half; root mean square of the sound around, dB below a full-scale sample.\n\n${levelTable(scoring(damage))}`,
    `## By scenario\n\nScoring half; losses by chance, in each word and law; "in codes" is covered before the law is expanded.\n\n${scenarioTable(scoring(damage), scoring(said))}`,
    `## By spectrum\n\nScoring half, rows of 1 to 48 samples in 16-bit sound: second differences against the sound itself, dark below -36 dB, bright above -16 dB.\n\n${spectrumTable(scoring(bursts.filter(isLimit)))}`,
    `## Clicks by length\n\nScoring half, 16-bit sound: so many samples with a height added to them, or replaced by values of no sound.\n\n${clickTable(scoring(damage.filter((row) => row.kind === 'click')))}`,
    `## By kind of loss pattern\n\nScoring half, every pattern whose recall of visible bursts or precision is under 95 %.\n\n${weakTable(scoring(damage), scoring(said))}`,
    `## Undamaged sound\n\n${alarmTables(soundsOf(pieces), alarms, doubts)}\n\n${saidTable(doubts)}`,
    `## Is the stated confidence true?\n\n${reliability(said, soundsOf(pieces), alarms)}`,
    `## What cannot be seen\n\n${limitTables(bursts.filter(isLimit))}`,
  ];
  return `${parts.join('\n\n')}\n`;
}

function intro(seed: number, pieces: readonly PieceRows[], outdated: readonly string[]): string {
  const dates = [...new Set(pieces.map((piece) => piece.date))].sort();
  const left = outdated.length > 0 ? ` Left out, as other versions made them: ${outdated.length} pieces.` : '';
  return `# Scores of the loss detectors

Made by \`npm run score -- --large\` from the rows in \`score/rows\`: ${pieces.length} pieces, run ${dates.join(', ')}, seed ${seed};
${versionsText()}.${left} Every number is counted, none is typed. Real recordings, damaged in known ways by
\`src/simulate\` at the rate, in the word and through the law of each format, then examined.

**Visible.** A burst is visible when (local chance of one such sample)^(samples changed) x (places tried) < 0.01, with the chance taken from
the undamaged sound around it, in steps of the quantiser (of a law, in codes): 1.2 / spread of second differences for interpolation, 0.4 / spread of first
differences for holds and mutes, 0.4 / the smaller of both spreads for repeats. Places are the frames of the recording, for repeats times 8192 lags.
Found = a finding of the right class touches the burst. A mute that is told as "silence, a mute or an editor's cut" counts as not found, and so does a repeat
that is told as "the same samples twice, a deck's repeat or an editor's copy".
A click is visible when its fourth difference is eight times the largest nearby.

**Two halves.** The recordings are divided by a hash of their names. The detectors were tuned while looking at the tuning half only (the recordings of
the tests all belong to it) and at the awkward sound below; the scoring half is the one that counts. Both halves come from the same collections, so a strange
recording may fare worse than either. Every scenario meets only some recordings of each half, other ones each time.`;
}

function scoring<T extends { readonly half: Half | 'made' }>(rows: readonly T[]): T[] {
  return rows.filter((row) => row.half === 'scoring');
}

function classTable(bursts: readonly PlacedBurst[], findings: readonly PlacedFinding[]): string {
  const rows = (['scoring', 'tuning'] as const).flatMap((half) =>
    KINDS.map((kind) => {
      const own = bursts.filter((row) => row.kind === kind && row.half === half);
      const said = findings.filter((row) => row.kind === kind && row.half === half);
      const other = sum(said, (row) => row.otherClass);
      const invisible = sum(own, (row) => row.invisibleFound);
      return [half, kind, ...recallCells(own), precisionCell(said), sum(said, (row) => row.findings), other, invisible];
    }),
  );
  const head = ['half', 'class', 'bursts', 'visible', 'recall of visible', 'precision', 'findings'];
  return table([...head, 'right place, other class', 'invisible yet found'], rows);
}

/** The group of a piece: its word, or the family of its format. */
function groupOf({ piece }: { readonly piece: string }): string {
  const name = nameOf({ piece });
  return WORD_GROUP.exec(name)?.[0] ?? name.split(' ')[0];
}

const WORD_GROUP = /^(?:16|20|24) bit|^(?:12 bit nonlinear|8 mm law)(?:, in codes)?|^clicks/;

function groupTable(bursts: readonly PlacedBurst[], findings: readonly PlacedFinding[]): string {
  const said = groupsOf(findings, groupOf);
  const rows = Array.from(groupsOf(bursts, groupOf), ([group, own]) => [
    group,
    sum(own, (row) => row.bursts),
    ...KINDS.map((kind) => {
      const visible = own.filter((row) => row.kind === kind);
      const recall = percent(
        sum(visible, (row) => row.found),
        sum(visible, (row) => row.visible),
      );
      if (recall === 'none') return '–';
      return `${recall} / ${precisionCell((said.get(group) ?? []).filter((row) => row.kind === kind))}`;
    }),
  ]);
  return table(['word or format', 'bursts', ...KINDS.map((kind) => `${kind}: recall / precision`)], rows);
}

function levelTable(bursts: readonly PlacedBurst[]): string {
  const levels = groupsOf(bursts, (row) => row.level);
  const rows = [...levels.keys()].sort(byLevel).map((level) => {
    const own = levels.get(level) ?? [];
    return [
      level,
      ...recallCells(own),
      ...KINDS.map((kind) => {
        const [, visible, recall] = recallCells(own.filter((row) => row.kind === kind));
        return `${visible} / ${recall}`;
      }),
    ];
  });
  const head = ['level dB', 'bursts', 'visible', 'recall of visible'];
  return table([...head, ...KINDS.map((kind) => `${kind}: visible / recall`)], rows);
}

function byLevel(a: string, b: string): number {
  const top = (name: string) => (name.startsWith('below') ? -999 : Number.parseInt(name, 10));
  return top(b) - top(a);
}

/** The scenarios that are not of a format, whatever they score. */
function scenarioTable(bursts: readonly PlacedBurst[], findings: readonly PlacedFinding[]): string {
  const said = groupsOf(findings, nameOf);
  const rows = Array.from(groupsOf(bursts, nameOf)).flatMap(([name, own]) => {
    if (!WORD_GROUP.test(name)) return [];
    const kind =
      groupsOf(own, (row) => row.kind)
        .keys()
        .next().value ?? '';
    const [ofKind, about] = [own, said.get(name) ?? []].map((list) => list.filter((row) => row.kind === kind));
    return [[name, kind, ...recallCells(ofKind as PlacedBurst[]), precisionCell(about as PlacedFinding[])]];
  });
  return table(['scenario', 'class', 'bursts', 'visible', 'recall of visible', 'precision'], rows);
}

function nameOf({ piece }: { readonly piece: string }): string {
  return piece.replace('damage ', '');
}

function spectrumTable(bursts: readonly PlacedBurst[]): string {
  const rows = SPECTRA.map((spectrum) => {
    const own = bursts.filter((row) => row.spectrum === spectrum);
    return [
      spectrum,
      ...(['interpolated', 'held'] as const).flatMap((kind) => recallCells(own.filter((row) => row.kind === kind))),
    ];
  });
  const head = ['interpolated', 'held'].flatMap((kind) => [`${kind}: rows`, 'visible', 'recall of visible']);
  return table(['spectrum', ...head], rows);
}

function clickTable(clicks: readonly PlacedBurst[]): string {
  const pieces = groupsOf(clicks, (row) => row.piece);
  const rows = [1, 2, 3].map((length) => [
    length,
    ...Array.from(pieces.values(), (own) => recallCells(own.filter((row) => row.length === length))).flat(),
  ]);
  const head = [...pieces.keys()].flatMap((piece) => [nameOf({ piece }), 'visible', 'recall of visible']);
  return table(['samples', ...head], rows);
}

const FEWEST = 20;

function weakTable(bursts: readonly PlacedBurst[], findings: readonly PlacedFinding[]): string {
  const key = (row: { readonly piece: string; readonly kind: string }) =>
    `${row.piece.replace('damage ', '')}|${row.kind}`;
  const said = groupsOf(findings, key);
  const rows = Array.from(groupsOf(bursts, key), ([name, own]) => {
    const [pattern, kind] = name.split('|');
    const about = said.get(name) ?? [];
    const visible = sum(own, (row) => row.visible);
    const recall = sum(own, (row) => row.found) / visible;
    const precision = sum(about, (row) => row.right) / sum(about, (row) => row.findings);
    const isWeak = visible >= FEWEST && (recall < 0.95 || precision < 0.95);
    return isWeak ? [[pattern, kind, ...recallCells(own), precisionCell(about)]] : [];
  }).flat();
  return rows.length === 0
    ? 'None.'
    : table(['pattern', 'class', 'bursts', 'visible', 'recall of visible', 'precision'], rows);
}

function fileHours(rows: readonly SoundRow[]): number {
  return sum(rows, (row) => row.seconds) / 3600;
}

function channelHours(rows: readonly SoundRow[]): number {
  return sum(rows, (row) => row.channels * row.seconds) / 3600;
}

/** The name of a tape without its half and number. */
function collectionOf({ name }: SoundRow | AlarmRow): string {
  return name.replace(/ (?:tuning|scoring) \d+$/, '');
}

function alarmTables(sounds: readonly SoundRow[], alarms: readonly AlarmRow[], said: readonly AlarmRow[]): string {
  const real = sounds.filter((row) => row.half !== 'made');
  const byKind = (own: readonly AlarmRow[]) =>
    Array.from(
      groupsOf(own, (row) => row.kind),
      ([kind, some]) => `${some.length} ${kind}`,
    ).join(', ') || 'none';
  const collection = (row: SoundRow | AlarmRow) => `${row.half}|${collectionOf(row)}`;
  const alarmsIn = groupsOf(alarms, collection);
  const line = (label: string, own: readonly SoundRow[], found: readonly AlarmRow[]) => [
    label,
    fileHours(own.filter((row) => row.isFirst === 1)).toFixed(2),
    channelHours(own).toFixed(2),
    found.length,
    (found.length / Math.max(1e-9, channelHours(own))).toFixed(2),
    byKind(found),
  ];
  const totals = (['scoring', 'tuning'] as const).map((half) =>
    line(
      `**${half} half, all**`,
      real.filter((row) => row.half === half),
      alarms.filter((row) => row.half === half),
    ),
  );
  totals.push(
    line(
      '**both halves**',
      real,
      alarms.filter((row) => row.half !== 'made'),
    ),
  );
  const firstNames = new Set(real.filter((row) => row.isFirst === 1).map((row) => row.name));
  totals.push(
    line(
      '**of both, each recording once, in its own word**',
      real.filter((row) => row.isFirst === 1),
      alarms.filter((row) => row.half !== 'made' && firstNames.has(row.name)),
    ),
  );
  const each = Array.from(groupsOf(real, collection)).sort(([a], [b]) => (a < b ? -1 : 1));
  const rows = each.map(([name, own]) =>
    line(`${name.replace('|', ': ')} (${own[0].kind})`, own, alarmsIn.get(name) ?? []),
  );
  const made = sounds.filter((row) => row.half === 'made');
  const madeAlarms = alarms.filter((row) => row.half === 'made');
  const list = Array.from(
    groupsOf(madeAlarms, (row) => row.name),
    ([name, own]) => `- ${name}: ${byKind(own)}`,
  ).join('\n');
  return `Real recordings, joined into tapes of ten minutes; single strokes follow each other with the attack of each as it is. The same recordings count again at another rate, in another word or through a law.

${table(['sound', 'hours of sound not counted before', 'channel-hours', 'findings', 'per channel-hour', 'which'], [...totals, ...rows])}

${copiesIn([...alarms, ...said].filter((row) => row.half !== 'made'))}

Awkward sound (${made.length} pieces, ${channelHours(made).toFixed(2)} channel-hours: silence, lowest bits, tones, sweeps, smooth noise; recordings made 60 and
72 dB softer, clipped, gated to zero, faded, low-passed): ${madeAlarms.length} findings, ${byKind(madeAlarms)}.

${list}`;
}

/** Those of a lag that a deck has count as false alarms: whether a recording was edited is not known here. */
function copiesIn(rows: readonly AlarmRow[]): string {
  const copies = rows.filter((row) => row.lag > 0);
  if (copies.length === 0) return 'No copy in them.';
  const cells = copies.map(({ name, kind, start, length, lag, log10Expected }) => {
    const told = kind === 'repeated' ? 'a repeat: false alarm' : 'cannot tell';
    return [name, told, start, length, lag, `1e${log10Expected}`];
  });
  return `The copies in them, looked at sample by sample: each equals, from its first sample to its last, what stands one lag before; a lag as long as the
copy is how an editor lengthens a pause. Chance is that of "visible", over the whole tape and 8192 lags, in the finest step of the channel.

${table(['tape', 'told as', 'first frame', 'samples', 'lag', 'expected by chance'], cells)}`;
}

/** No alarms: what the report says of such sound. */
function saidTable(said: readonly AlarmRow[]): string {
  const lines = Array.from(
    groupsOf(said, (row) => `${collectionOf(row)}: ${SAID[row.kind]}`),
    ([name, own]) => `- ${name}, ${own.length} times over ${sum(own, (row) => row.length)} samples`,
  );
  const counts = Array.from(
    groupsOf(said, (row) => SAID[row.kind]),
    ([what, own]) => `${own.length} times "${what}"`,
  );
  if (lines.length === 0) return 'Said of undamaged sound, and no loss by its own words: nothing.';
  return `Said of undamaged sound, and no loss by its own words (${counts.join(', ')}):\n\n${lines.join('\n')}`;
}

const BINS = ['0.999', '0.99', '0.98', '0.95', '0.9', '0.5', '0'];

function reliability(said: readonly PlacedFinding[], sounds: readonly SoundRow[], alarms: readonly AlarmRow[]): string {
  const least = (confidence: number) => BINS.find((bin) => confidence >= Number(bin)) ?? '0';
  const real = alarms.filter((row) => row.half === 'scoring');
  const hours = channelHours(sounds.filter((row) => row.half === 'scoring'));
  const rows = BINS.map((bin, k) => {
    const own = scoring(said).filter((row) => row.bin === bin);
    const findings = sum(own, (row) => row.findings);
    const right = sum(own, (row) => row.right);
    const wrong = real.filter((row) => least(row.confidence) === bin).length;
    const name = k === 0 ? 'from 0.999' : `${bin} to ${BINS[k - 1]}`;
    return [name, findings, percent(right, findings), wrong, percent(right, findings + wrong)];
  });
  const sure = scoring(said).filter((row) => Number(row.bin) >= 0.99);
  const wrong = real.filter((row) => row.confidence >= 0.99).length;
  const all = sum(sure, (row) => row.findings);
  const right = sum(sure, (row) => row.right);
  return `Scoring half. True = it touches a burst of its class. The last column counts the ${hours.toFixed(1)} undamaged channel-hours beside the damaged recordings.

${table(['stated confidence', 'findings in damaged sound', 'true', 'findings in undamaged sound', 'true of both'], rows)}

Of findings said to be 99 % sure or more, ${percent(right, all)} are true in damaged sound, ${percent(right, all + wrong)} with the undamaged hours.`;
}

function limitTables(bursts: readonly PlacedBurst[]): string {
  return (['interpolated', 'held'] as const)
    .map((kind) => {
      const own = scoring(bursts).filter((row) => row.kind === kind);
      const lengths = [...new Set(own.map((row) => row.length))].sort((a, b) => a - b);
      const groups = groupsOf(own, (row) => `${row.level}|${row.spectrum}`);
      const rows = [...groups.keys()].sort(byLevelAndSpectrum).map((name) => {
        const some = groups.get(name) ?? [];
        const shares = lengths.map((length) => {
          const these = some.filter((row) => row.length === length);
          const count = sum(these, (row) => row.bursts);
          return count < FEWEST
            ? '–'
            : `${Math.round((100 * sum(these, (row) => row.found + row.invisibleFound)) / count)}`;
        });
        return [...name.split('|'), sum(some, (row) => row.bursts), ...shares];
      });
      return `Rows of ${kind} samples in 16-bit sound: share of all rows found, in per cent, by the number of samples (scoring half; a dash: fewer than ${FEWEST} rows).

${table(['level dB', 'spectrum', 'rows', ...lengths.map(String)], rows)}`;
    })
    .join('\n\n');
}

const SPECTRA = ['dark', 'middle', 'bright'];

function byLevelAndSpectrum(a: string, b: string): number {
  const [levelA, spectrumA] = a.split('|');
  const [levelB, spectrumB] = b.split('|');
  return byLevel(levelA, levelB) || SPECTRA.indexOf(spectrumA) - SPECTRA.indexOf(spectrumB);
}
