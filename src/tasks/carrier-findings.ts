// What the carrier says of itself as findings of the examination: they come by no measurement, so nothing of them is chance.
import type { ExamineShare, Finding } from '../examine/index.ts';
import type { CarrierEvent, CarrierLoss, CarrierReport } from '../media/index.ts';

const KINDS = {
  'error-code': 'error-code',
  'missing-data': 'missing-data',
  'no-sound': 'missing-data',
  'drive-interpolated': 'drive-interpolated',
} as const;

/** To be joined with the shares of the detectors, so that one story is told of every place. */
export function carrierShare(report: CarrierReport | undefined, channels: number): ExamineShare {
  if (!report) return { findings: [], verdicts: [], detectors: [] };
  const all = Array.from({ length: channels }, (_, c) => c + 1);
  const findings = [
    ...report.losses.map((loss) => lossFinding(report.carrier, loss)),
    ...report.events.map((event) => eventFinding(report.carrier, event, all)),
  ];
  return { findings: findings.map((what) => ({ phase: 0, detector: -1, what })), verdicts: [], detectors: [] };
}

function lossFinding(detector: string, loss: CarrierLoss): Finding {
  const { cause, channel, start, length, firstFrame, frames, samples, tracks } = loss;
  return {
    ...{ detector, version: 1, kind: KINDS[cause], channels: [channel], start, length },
    ...{ confidence: 1, expectedByChance: 0, measured: samples, expected: 0, unit: 'samples lost' },
    detail: { cause, firstFrame, frames, tracks: tracks.map(({ track, samples: lost }) => ({ track, samples: lost })) },
  };
}

function eventFinding(detector: string, event: CarrierEvent, channels: readonly number[]): Finding {
  const { kind, start, length, confidence, measured, expected, unit, firstFrame, detail } = event;
  return {
    ...{ detector, version: 1, kind, channels, start, length, confidence, expectedByChance: 0 },
    ...{ measured, expected, unit, detail: { firstFrame, ...detail } },
  };
}
