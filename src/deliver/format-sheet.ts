// Prints what is known of tape formats: as text with certainty marks, and as the JSON of `formats --json`. The facts and
// their marks come from tape/; nothing is added here.
import { rateHz } from '../base/index.ts';
import { describeFormat, type FormatGroup, type TapeFormat } from '../tape/index.ts';
import { textTable, wrapText } from './text-table.ts';

const MARKS =
  'Marks: S standard or faithful quotation; T trade literature; M from memory, no source found; D arithmetic (weakest input in brackets). Source keys: docs/sources.md.';

export interface FormatsDocument {
  readonly schema: 'tapeproof/formats@1';
  readonly formats: readonly FormatSheet[];
}

export interface FormatSheet {
  readonly id: string;
  readonly family: string;
  readonly label: string;
  readonly standard: string;
  readonly system: string | null;
  readonly groups: readonly FormatGroup[];
}

export function formatsDocument(formats: readonly TapeFormat[]): FormatsDocument {
  return { schema: 'tapeproof/formats@1', formats: formats.map(formatSheet) };
}

export function formatSheet(format: TapeFormat): FormatSheet {
  const { id, family, label, standard, system } = format;
  return { id, family, label, standard, system: system ?? null, groups: describeFormat(format) };
}

/** The list to choose from; exact rates and everything else stand in the sheet of each format. */
export function formatListText(formats: readonly TapeFormat[]): string {
  const rows = formats.map(({ id, label, signal }) => [
    id,
    signal.rates.value.map((rate) => String(Number(rateHz(rate).toFixed(1)))).join(' / '),
    `${signal.tapeBits.value}`,
    `${signal.channels.value}`,
    label,
  ]);
  const columns = [
    { header: 'id' },
    { header: 'Hz', align: 'right' as const },
    { header: 'bits', align: 'right' as const },
    { header: 'ch', align: 'right' as const },
    { header: 'format', flexible: true },
  ];
  return `${textTable(columns, rows)}\n`;
}

/** The whole sheet of one format. */
export function formatSheetText(format: TapeFormat): string {
  const { id, label, standard, system, groups } = formatSheet(format);
  const head = [wrapText(`${label} (${id})`), wrapText(`Standard: ${standard}${system ? `; system ${system}` : ''}`)];
  const columns = [
    { header: 'what', flexible: true },
    { header: 'value', flexible: true },
    { header: 'mark' },
    { header: 'source' },
  ];
  const body = groups.map(({ group, rows }) => {
    const cells = rows.map(({ name, value, certainty, source, note }) => [
      name,
      note ? `${value} (${note})` : value,
      certainty,
      source,
    ]);
    return `${group}\n${textTable(columns, cells, { indent: 2 })}`;
  });
  return `${[head.join('\n'), ...body, wrapText(MARKS)].join('\n\n')}\n`;
}
