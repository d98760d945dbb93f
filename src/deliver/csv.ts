// Rows as comma-separated values (RFC 4180) that a spreadsheet opens without running anything.

/** Every line ends with CR LF. */
export function csvText(rows: readonly (readonly string[])[]): string {
  return `${rows.map((row) => row.map(quoted).join(',')).join('\r\n')}\r\n`;
}

/** Text that a spreadsheet could take for a formula gets an apostrophe. */
function quoted(text: string): string {
  const safe = /^[=+@\t\r]/.test(text) || /^-[^0-9.]/.test(text) ? `'${text}` : text;
  return /[",\r\n]/.test(safe) ? `"${safe.replace(/"/g, '""')}"` : safe;
}
