// The sampling rate of the device: from frames on a digital path, else from the band edge and folded lines. Not for words.
import { type Rate, rateHz } from '../../base/index.ts';
import type { CaptureMeasurement } from '../analyse/measure-capture.ts';
import { type Answer, LEAST_ODDS, MOST_ODDS, oddsOf, probabilities, type SignalPath } from './answer.ts';
import { type DeviceLines, EDGE_SHARES, spokenRate } from './device-lines.ts';
import { sheetRates } from './hypotheses.ts';

/** Clocks of players and recorders together, parts per million. */
const CLOCK_PPM = 150;
/** Of a rate on a path that only looks digital. */
const ODDS_UNPROVEN = 1000;

/**
 * `isSure`: the digital path is proven or told. Where it only looks digital, lines of another rate mean that the samples were converted
 * behind the device; then nothing is claimed.
 */
export function rateAnswer(
  measurement: CaptureMeasurement,
  lines: DeviceLines | undefined,
  path: SignalPath,
  isSure: boolean,
): Answer {
  const byFrames = fromFrames(measurement, sheetRates());
  if (lines === undefined || (path === 'digital' && isSure)) return byFrames;
  const byLines = fromLines(measurement, lines, path);
  if (path !== 'digital') return byLines;
  if (byLines.answer === null || byLines.answer === byFrames.answer) return guarded(byFrames);
  const both = [...byFrames.remaining, ...byLines.remaining.filter((one) => one.id === byLines.answer)];
  return {
    answer: null,
    odds: null,
    remaining: probabilities(both.map(({ id, label }) => ({ id, label, nats: 0 }))),
    because: [...byFrames.because, ...byLines.because, 'the two disagree: converted behind the device?'],
  };
}

/** A converter of rates that left no trace would make this wrong. */
function guarded(answer: Answer): Answer {
  const because = [...answer.because, 'assumes that nothing converted the rate behind the device'];
  return { ...answer, odds: answer.odds === null ? null : Math.min(answer.odds, ODDS_UNPROVEN), because };
}

function fromLines(measurement: CaptureMeasurement, lines: DeviceLines, path: SignalPath): Answer {
  const { edgeHz, isBound, rates } = lines;
  const scored = rates.scores.map(({ rate, score }) => ({ id: rateId(rate), label: rateLabel(rate), nats: score }));
  const [from, to] = [edgeHz / EDGE_SHARES.most, edgeHz / EDGE_SHARES.least].map(Math.round);
  const because = [
    isBound
      ? `the band reaches at least ${Math.round(edgeHz)} Hz`
      : `the band ends at ${Math.round(edgeHz)} Hz: rates from ${from} to ${to} Hz`,
  ];
  if (path === 'unknown')
    because.push(`if the path was digital, the rate is ${measurement.placement.framesPerSecond.toFixed(1)} Hz`);
  if (spokenRate(lines) === undefined) {
    because.push(
      lines.areFileSteps
        ? 'the steps seen are as fine as those of the file: a recorder may have made their folded lines'
        : 'no folded lines of any rate stand out of the noise',
    );
    return { answer: null, odds: null, remaining: probabilities(scored.map((one) => ({ ...one, nats: 0 }))), because };
  }
  const top = [...scored].sort((a, b) => b.nats - a.nats);
  // lines hang together: half their weight
  const remaining = probabilities(scored.map((one) => ({ ...one, nats: one.nats / 2 })));
  const odds = oddsOf(remaining);
  because.push(
    `folded lines of ${top[0].label} stand out: strength ${top[0].nats.toFixed(0)}, next ${(top[1]?.nats ?? 0).toFixed(0)}`,
  );
  const isTold = odds >= LEAST_ODDS;
  return { answer: isTold ? top[0].id : null, odds: isTold ? odds : null, remaining, because };
}

/** On a digital path the frames per second of the programme's own time are the device's rate. */
function fromFrames(measurement: CaptureMeasurement, rates: readonly Rate[]): Answer {
  const hz = measurement.placement.framesPerSecond;
  const near = rates.map((rate) => ({ rate, ppm: (hz / rateHz(rate) - 1) * 1e6 }));
  const fitting = near.filter(({ ppm }) => Math.abs(ppm) <= CLOCK_PPM);
  const because = [`${hz.toFixed(3)} frames in a second of the programme`];
  if (fitting.length === 0) {
    return {
      answer: null,
      odds: null,
      remaining: [],
      because: [...because, 'no rate of the sheets: run off speed, or converted'],
    };
  }
  const [{ rate, ppm }] = fitting;
  const id = rateId(rate);
  return {
    answer: id,
    odds: MOST_ODDS,
    remaining: [{ id, label: rateLabel(rate), probability: 1 }],
    because: [...because, `${ppm.toFixed(1)} ppm from ${rateLabel(rate)}`],
  };
}

export function rateId(rate: Rate): string {
  return rate.den === 1 ? `${rate.num}` : `${rate.num}/${rate.den}`;
}

function rateLabel(rate: Rate): string {
  return `${rate.den === 1 ? rate.num : rateHz(rate).toFixed(2)} Hz`;
}
