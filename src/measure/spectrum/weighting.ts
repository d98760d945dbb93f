// The two weightings of noise measurement as factors of power: A (IEC 61672-1, annex E formula; certainty M) and the curve of ITU-R BS.468-4,
// by the rational form of its network (certainty M; the test compares the recommendation's table). Not for loudness (signal/).

/** 0 dB at 1 kHz. */
export function aWeight(hz: number): number {
  const f2 = hz * hz;
  const gain =
    (12_194 ** 2 * f2 * f2) /
    ((f2 + 20.6 ** 2) * Math.sqrt((f2 + 107.7 ** 2) * (f2 + 737.9 ** 2)) * (f2 + 12_194 ** 2));
  return gain * gain * 10 ** 0.2;
}

/** 0 dB at 2 kHz as AES17 asks (5.63 dB below the curve of the recommendation); to be used with a mean square. */
export function ccirRmsWeight(hz: number): number {
  return itu468(hz) / 10 ** 0.563;
}

/** 0 dB at 1 kHz, as the recommendation has it. */
export function itu468(hz: number): number {
  const f = hz;
  const even = -4.737338981378384e-24 * f ** 6 + 2.043828333606125e-15 * f ** 4 - 1.363894795463638e-7 * f ** 2 + 1;
  const odd = 1.306612257412824e-19 * f ** 5 - 2.118150887518656e-11 * f ** 3 + 5.559488023498642e-4 * f;
  const gain = (1.246332637532143e-4 * f) / Math.sqrt(even * even + odd * odd);
  return gain * gain * 10 ** 1.82;
}
