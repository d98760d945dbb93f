// What the carrier says of itself as findings of the examination: they come by no measurement, so nothing of them is chance.
import type { ExamineResult, ExamineShare, Finding, Verdict } from '../examine/index.ts';
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
  const findings = [...report.losses.map(lossFinding), ...report.events.map((event) => eventFinding(event, all))];
  const said = <T>(what: T) => ({ phase: 0, detector: -1, what });
  const verdicts = all.map((channel) => lostVerdict(channel, report.losses));
  return { findings: findings.map(said), verdicts: verdicts.map(said), detectors: [] };
}

/** The detectors saw held samples wherever the tape has an error code (held-over.ts): those are not the deck's. */
export function withoutFill(result: ExamineResult, report: CarrierReport | undefined): ExamineResult {
  const isFilled = (channel: number) =>
    report?.losses.some((loss) => loss.channel === channel && isLost(loss)) ?? false;
  const verdicts = result.verdicts.map((verdict): Verdict => {
    if (verdict.question !== 'held-seen' || !isFilled(verdict.channel)) return verdict;
    const kept = result.findings.filter(({ kind, channels }) => kind === 'held' && channels.includes(verdict.channel));
    const answer = kept.reduce((sum, { measured }) => sum + (typeof measured === 'number' ? measured : 0), 0);
    return { ...verdict, answer, evidence: { ...verdict.evidence, findings: kept.length } };
  });
  return { ...result, verdicts };
}

function isLost({ cause }: CarrierLoss): boolean {
  return cause !== 'drive-interpolated';
}

function lostVerdict(channel: number, losses: readonly CarrierLoss[]): Verdict {
  const own = losses.filter((loss) => loss.channel === channel);
  const sum = (cause: CarrierLoss['cause']) =>
    own.reduce((all, loss) => all + (loss.cause === cause ? loss.samples : 0), 0);
  const bySort = {
    errorCodes: sum('error-code'),
    missingData: sum('missing-data'),
    withoutSound: sum('no-sound'),
    // of frames in which the drive estimated some
    driveInterpolated: sum('drive-interpolated'),
  };
  return {
    ...{ channel, question: 'lost-by-carrier', confidence: 1 },
    answer: bySort.errorCodes + bySort.missingData + bySort.withoutSound,
    detectionLimit:
      'counted from what the tape says itself; a device that covers errors before it passes the data on leaves no code',
    evidence: { unit: 'samples', ...bySort },
  };
}

function lossFinding(loss: CarrierLoss): Finding {
  const { cause, channel, start, length, firstFrame, frames, samples, tracks } = loss;
  return {
    ...{ detector: 'carrier', version: 1, kind: KINDS[cause], channels: [channel], start, length },
    ...{ confidence: 1, expectedByChance: 0, measured: samples, expected: 0 },
    unit: cause === 'drive-interpolated' ? 'samples of frames that hold estimates' : 'samples lost',
    detail: { cause, firstFrame, frames, tracks: tracks.map(({ track, samples: lost }) => ({ track, samples: lost })) },
  };
}

function eventFinding(event: CarrierEvent, channels: readonly number[]): Finding {
  const { kind, start, length, confidence, measured, expected, unit, firstFrame, detail } = event;
  return {
    ...{ detector: 'carrier', version: 1, kind, channels, start, length, confidence, expectedByChance: 0 },
    ...{ measured, expected, unit, detail: { firstFrame, ...detail } },
  };
}
