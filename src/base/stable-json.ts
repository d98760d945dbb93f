// JSON that is the same text for the same data, so that a document can be compared and digested. Keys keep the order
// in which the document was built; values that JSON would lose silently are refused.

function check(value: unknown, at: string): void {
  if (typeof value === 'number' && !Number.isFinite(value)) throw new Error(`no JSON for ${value} at ${at}`);
  if (typeof value === 'bigint' || typeof value === 'function')
    throw new Error(`no JSON for a ${typeof value} at ${at}`);
  if (ArrayBuffer.isView(value)) throw new Error(`no JSON for a typed array at ${at}`);
  if (Array.isArray(value)) {
    for (const [i, item] of value.entries()) check(item, `${at}[${i}]`);
  } else if (value && typeof value === 'object')
    for (const [key, item] of Object.entries(value)) check(item, `${at}.${key}`);
}

/** Throws a plain Error (a bug) for NaN, infinities, bigints, functions and typed arrays. Ends with a line feed. */
export function stableJson(value: unknown, indent = 2): string {
  check(value, '$');
  return `${JSON.stringify(value, null, indent)}\n`;
}

/** Deep-frozen copy-free document: the same object, frozen all the way down. */
export function deepFreeze<T>(value: T): T {
  if (value && typeof value === 'object' && !ArrayBuffer.isView(value) && !Object.isFrozen(value)) {
    Object.freeze(value);
    Object.values(value).forEach(deepFreeze);
  }
  return value;
}
