// The numbers of a measurement that go over level or frequency, as curves for plots, CSV and tables. Not for drawing (svg-curves.ts).
import type { ChannelMeasurement, Measured } from '../../measure/index.ts';

export interface CurvePoint {
  readonly at: number;
  readonly measured: Measured;
}

export interface CurveKind {
  readonly id: string;
  readonly title: string;
  readonly across: 'hz' | 'db';
  readonly acrossLabel: string;
  readonly upLabel: string;
  readonly unit: string;
  /** said under the plot: how to read it */
  readonly note: string;
  /** lower than this below the highest value is drawn at the edge; all is shown where left out */
  readonly depthDb?: number;
  of(channel: ChannelMeasurement): readonly CurvePoint[];
}

export const CURVES: readonly CurveKind[] = [
  {
    id: 'noise-level',
    title: 'Noise against level',
    across: 'db',
    acrossLabel: 'level sent (997 Hz), dBFS',
    upLabel: 'noise without harmonics, dBFS',
    unit: 'dBFS',
    note: 'A linear recording has the same noise at every level: a flat line. A companding law leaves a staircase that rises with the level.',
    of: (channel) => channel.ladder.map((step) => ({ at: step.sentDb, measured: step.noiseDb })),
  },
  {
    id: 'thdn-level',
    title: 'THD+N against level',
    across: 'db',
    acrossLabel: 'level sent (997 Hz), dBFS',
    upLabel: 'THD+N, dB',
    unit: 'dB',
    note: 'Everything but the tone, 20 Hz to 20 kHz, against the whole signal. Where it turns up at the right end the device clips.',
    of: (channel) => channel.ladder.map((step) => ({ at: step.sentDb, measured: step.thdnDb })),
  },
  {
    id: 'thdn-frequency',
    title: 'THD+N against frequency',
    across: 'hz',
    acrossLabel: 'frequency, Hz',
    upLabel: 'THD+N at -20 dBFS, dB',
    unit: 'dB',
    note: 'The same at -20 dBFS. Near 0 dB the tone itself did not come through.',
    of: (channel) => channel.tones.map((tone) => ({ at: tone.hz, measured: tone.thdnDb })),
  },
  {
    id: 'response',
    title: 'Frequency response',
    across: 'hz',
    acrossLabel: 'frequency, Hz',
    upLabel: 'against 997 Hz, dB',
    unit: 'dB',
    note: 'From the sweep at -20 dBFS. What lies more than 90 dB down is drawn at the edge.',
    // what changes within a few decibels must not be flattened by a stop band far below
    depthDb: 90,
    of: (channel) => channel.response.points.map((point) => ({ at: point.hz, measured: point.gainDb })),
  },
  {
    id: 'linearity',
    title: 'Linearity at low level',
    across: 'db',
    acrossLabel: 'level sent, dBFS',
    upLabel: 'deviation, dB',
    unit: 'dB',
    note: 'Steps of the ladder and the fading tone, against the gain in the middle of the range.',
    of: (channel) =>
      [
        ...channel.levels.linearity.filter(({ sentDb }) => sentDb >= -60),
        ...channel.lowLevel.filter(({ sentDb }) => sentDb < -60),
      ]
        .map((point) => ({ at: point.sentDb, measured: point.deviationDb }))
        .sort((a, b) => a.at - b.at),
  },
  {
    id: 'idle-spectrum',
    title: 'Idle noise by frequency',
    across: 'hz',
    acrossLabel: 'frequency, Hz',
    upLabel: 'in a sixth of an octave, dBFS',
    unit: 'dBFS',
    note: 'Without signal. White noise rises by 3 dB an octave here; hum stands out as a peak at 50 or 60 Hz.',
    of: (channel) => channel.idle.spectrum.map((point) => ({ at: point.hz, measured: point.levelDb })),
  },
];
