// The check byte of a professional block: x^8 + x^4 + x^3 + x^2 + 1 over the 184 bits before it in the order sent, register preset to
// ones (polynomial: S, quoted from EBU Tech 3250; preset: M, confirmed by the two worked examples of docs/sources.md).

/** Of the first 23 bytes; more are not looked at. */
export function statusCheckByte(bytes: ArrayLike<number>): number {
  let register = 0xff;
  for (let i = 0; i < 23; i++) {
    register ^= bytes[i];
    // The polynomial with its lowest power in the highest bit, because bits are sent lowest first.
    for (let bit = 0; bit < 8; bit++) register = register & 1 ? (register >>> 1) ^ 0xb8 : register >>> 1;
  }
  return register;
}
