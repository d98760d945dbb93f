// One format as groups of rows for printing, each with its certainty mark and sources. Not for layout or colour.
import { formatRate, type Rate } from '../base/index.ts';
import { certaintyMark, type Fact, isKnown, type MaybeFact } from './fact.ts';
import type { PrintedFact, TapeFormat, UnitLength } from './format.ts';
import { type LossPattern, lossMask, lossText, lostShare } from './loss-pattern.ts';

export interface FormatRow {
  readonly name: string;
  readonly value: string;
  /** `S`, `T`, `M`, `D(M)`, or `unknown` */
  readonly certainty: string;
  readonly source: string;
  readonly note?: string;
}

export interface FormatGroup {
  readonly group: string;
  readonly rows: readonly FormatRow[];
}

export function describeFormat(format: TapeFormat): readonly FormatGroup[] {
  const details = (group: string) => format.details.filter((detail) => detail.group === group).map(printedRow);
  const groups = [
    { group: 'signal', rows: signalRows(format) },
    { group: 'units', rows: unitRows(format) },
    { group: 'drum and tape', rows: [...transportRows(format), ...details('tape')] },
    { group: 'recording', rows: details('recording') },
    { group: 'sound', rows: details('sound') },
    { group: 'data', rows: details('data') },
    { group: 'deck', rows: details('deck') },
    { group: 'when correction fails', rows: failureRows(format) },
    { group: 'when a head or track is lost', rows: format.losses.map(lossRow) },
    { group: 'cautions', rows: format.cautions.map((caution, n) => row(`${n + 1}`, caution)) },
  ];
  return groups.filter((entry) => entry.rows.length > 0);
}

function signalRows({ signal }: TapeFormat): readonly FormatRow[] {
  const rows = [
    row('sampling rate', signal.rates, (rates) => rates.map(formatRate).join(' or ')),
    row('sampling clock', signal.clock),
    row('word on tape', signal.tapeBits),
    row('word after expansion', signal.linearBits),
    row('law', signal.law),
    row('channels', signal.channels),
    row('programmes', signal.programmes),
    row('emphasis', signal.emphasis, (value) => (value === 'flag-50-15' ? '50/15 us, by flag' : 'none known')),
    row('channel 2 after channel 1', signal.channelSkew, (value) => `${value} sample`),
  ];
  if (signal.varispeed) rows.push(row('off speed', signal.varispeed, ([low, high]) => `${low} to ${high}`));
  if (signal.rivalLaws.length > 0) {
    rows.push({ name: 'laws also possible', value: signal.rivalLaws.join(', '), certainty: 'unknown', source: '' });
  }
  return rows;
}

function unitRows(format: TapeFormat): readonly FormatRow[] {
  return format.units.map((unit) =>
    row(`samples per channel in one ${unit.name.replace('-', ' ')}`, unit.length, lengthText),
  );
}

function transportRows({ drum, tapeSpeeds, playingTimes }: TapeFormat): readonly FormatRow[] {
  const rows = [
    row('heads', drum.heads),
    row('use of the heads', drum.headUse),
    row('drum speed', drum.revolutionsPerMinute),
  ];
  if (drum.diameterMm) rows.push(row('drum diameter', drum.diameterMm));
  rows.push(
    ...tapeSpeeds.map((speed) => row(`tape speed ${speed.value.mode}`, speed, (value) => number(value.mmPerSecond))),
  );
  rows.push(
    ...playingTimes.map((time) =>
      row(`playing time ${time.value.mode}, ${time.value.cassette}`, time, (value) => number(value.minutes)),
    ),
  );
  return rows;
}

function failureRows(format: TapeFormat): readonly FormatRow[] {
  const hex = (word: number) => `0x${word.toString(16).toUpperCase()}`;
  return [
    ...format.concealment.map((step, n) => row(`step ${n + 1}`, step, (kind) => kind.replaceAll('-', ' '))),
    ...format.errorCodes.map((code) =>
      row(`error code, ${code.value.bits} bit`, code, (value) => `${hex(value.word)} (${value.sample})`),
    ),
  ];
}

function lossRow(pattern: LossPattern): FormatRow {
  const channels = [...new Set(pattern.cycles.flatMap((cycle) => cycle.flatMap((stream) => stream.channels)))];
  const value = channels.map((channel) => `channel ${channel} ${patternText(pattern, channel)}`).join('; ');
  const { certainty, weakest, source, note } = pattern;
  return {
    name: pattern.label,
    value: `period ${pattern.period}: ${value}`,
    certainty: weakest === undefined ? certainty : `${certainty}(${weakest})`,
    source,
    ...(note === undefined ? {} : { note }),
  };
}

/** Short cycles as text, long ones as a count and a share. */
function patternText(pattern: LossPattern, channel: number): string {
  const percent = `${number(100 * lostShare(pattern, channel))} per cent`;
  if (pattern.period > 20) {
    const lost = lossMask(pattern, channel).reduce((sum, one) => sum + one, 0);
    return `${lost} of ${pattern.period} lost (${percent})`;
  }
  const texts = pattern.cycles.map((_, unit) => lossText(pattern, channel, unit));
  return `${texts.join(' then ')} (${percent} lost)`;
}

function printedRow(detail: PrintedFact): FormatRow {
  return row(detail.name, detail.fact);
}

function row<T>(name: string, fact: MaybeFact<T>, text: (value: T) => string = plain): FormatRow {
  const note = fact.note === undefined ? {} : { note: fact.note };
  if (!isKnown(fact)) {
    const value = fact.hypotheses.length > 0 ? `unknown; to try: ${fact.hypotheses.join('; ')}` : 'unknown';
    return { name, value, certainty: certaintyMark(fact), source: '', ...note };
  }
  return {
    name,
    value: withUnit(text(fact.value), fact),
    certainty: certaintyMark(fact),
    source: fact.source,
    ...note,
  };
}

function withUnit<T>(text: string, fact: Fact<T>): string {
  return fact.unit === undefined ? text : `${text} ${fact.unit}`;
}

function plain(value: unknown): string {
  return typeof value === 'number' ? number(value) : String(value);
}

function number(value: number): string {
  return String(Number(value.toFixed(4)));
}

function lengthText(length: UnitLength): string {
  const { mean, min, max, cycle } = length;
  if (min === max) return String(min);
  const order = cycle ? `, locked ${cycle.join(' ')}` : '';
  return `${ratioText(mean)} on average, ${min} to ${max}${order}`;
}

function ratioText({ num, den }: Rate): string {
  return den === 1 ? String(num) : `${number(num / den)} (${num}/${den})`;
}
