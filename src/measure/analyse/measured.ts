// A measured number with what it may be wrong by, and decibels. Every number of a measurement travels in this shape.

/**
 * `uncertainty` is expanded with a coverage factor of 3 (about 99.7 per cent were the errors normal), in the unit of `value`; it covers noise and the
 * method, not the recorder's own faults. `value` is null where there was nothing to measure; `uncertainty` is null where `value` is, or where it
 * is a bound (`limit` says on which side the truth lies).
 */
export interface Measured {
  readonly value: number | null;
  readonly uncertainty: number | null;
  readonly limit?: 'at-most' | 'at-least';
}

/** k of the expanded uncertainty (ISO/IEC Guide 98-3, section 6). */
export const COVERAGE = 3;
export const NOTHING: Measured = Object.freeze({ value: null, uncertainty: null });
/** Mean square of a sine whose peak reaches full scale: 0 dBFS here and in AES17 (certainty M). */
export const FULL_SCALE_SINE = 0.5;

export function measured(value: number, uncertainty: number): Measured {
  return Number.isFinite(value) ? { value, uncertainty } : NOTHING;
}

/** `spread`: one standard deviation as a share of the power; `floorDb` what the method adds. */
export function powerDb(power: number, reference: number, spread: number, floorDb = 0.005): Measured {
  if (!(power > 0)) return NOTHING;
  return measured(10 * Math.log10(power / reference), spreadDb(spread / 2) + floorDb);
}

/** Expanded uncertainty in dB of an amplitude known to the share `spread` (one standard deviation). */
export function spreadDb(spread: number): number {
  return 20 * Math.log10(1 + COVERAGE * spread);
}

export function db(ratio: number): number {
  return 20 * Math.log10(ratio);
}

/** Value plus a constant; uncertainty unchanged. */
export function shifted(one: Measured, by: number): Measured {
  return one.value === null ? one : { ...one, value: one.value + by };
}

/** Difference of two independent numbers. */
export function difference(a: Measured, b: Measured): Measured {
  if (a.value === null || b.value === null) return NOTHING;
  return measured(a.value - b.value, Math.hypot(a.uncertainty ?? 0, b.uncertainty ?? 0));
}

export function negated(one: Measured): Measured {
  return one.value === null ? one : { ...one, value: -one.value };
}
