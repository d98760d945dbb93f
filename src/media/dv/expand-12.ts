// The 12-bit nonlinear law of 32 kHz four-channel sound, as a table from code to 16-bit value at the lower edge of its step.
// The law itself is data of tape/, which media/ may not see: a test holds the two against each other over all 4096 codes.
// Source: R21 (RFC 3190, table 1), formats sheet 5.3, certainty S.

/** "no valid sample" before expansion */
export const LOST_12 = 0x800;

/** Index: the code word, 0 .. 4095. */
export function expansion12(): Int16Array {
  return Int16Array.from({ length: 4096 }, (_, code) => expand(code < 0x800 ? code : code - 4096));
}

function expand(code: number): number {
  if (code < 0) return ~expand(~code);
  if (code < 512) return code;
  const shift = (code >> 8) - 1;
  return (code - 256 * shift) << shift;
}
