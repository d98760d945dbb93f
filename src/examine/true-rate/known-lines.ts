// Steady tones whose true frequency the world knows: residues of picture lines, the pilot of stereo radio, mains hum. Where one shows in a recording it
// is a clock; at another rate than the header's it stands elsewhere. Not for finding tones in general.

export interface LineFamily {
  readonly id: string;
  readonly label: string;
  /** true frequencies, Hz */
  readonly hz: readonly number[];
  /** as far as the tones may be off, parts per million */
  readonly tolerancePpm: number;
  /** tones that a tape could carry from anywhere: their rivals differ by far more than the tolerance */
  readonly isFine: boolean;
}

const harmonics = (hz: number, count: number) => Array.from({ length: count }, (_, k) => (k + 1) * hz);

/** Tolerances: broadcast and studio sync within 10 ppm, cameras and receivers within 50; pilot 19 kHz +-2 Hz; mains +-0.2 % over minutes (all M). */
export const LINE_FAMILIES: readonly LineFamily[] = [
  {
    id: 'line-525',
    label: 'the line frequency of 525-line colour television',
    hz: [2_250_000 / 143],
    tolerancePpm: 100,
    isFine: true,
  },
  { id: 'line-625', label: 'the line frequency of 625-line television', hz: [15_625], tolerancePpm: 100, isFine: true },
  { id: 'pilot', label: 'the pilot tone of stereo radio', hz: [19_000], tolerancePpm: 105, isFine: true },
  { id: 'mains-50', label: 'hum of 50 Hz mains', hz: harmonics(50, 10), tolerancePpm: 2000, isFine: false },
  { id: 'mains-60', label: 'hum of 60 Hz mains', hz: harmonics(60, 10), tolerancePpm: 2000, isFine: false },
];
