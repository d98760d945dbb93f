// What speaks for a rate, each as one piece of evidence with what it assumes: tones, rhythm of losses, timecode, a clock, flags. Weighing is examine/true-rate.
import { type FrameInfo, formatRate, type Rate, rate, rateHz, TapeproofError } from '../base/index.ts';
import { type Finding, lossPeriod, type RateEvidence, type RateStretch, type Verdict } from '../examine/index.ts';
import type { TimecodeSummary } from '../signal/index.ts';
import { type StatusLog, statusTopic } from '../tape/index.ts';

/** From the longest stretch of each kind of tone; where the rate changes, the stretches are told instead. */
export function toneEvidence(stretches: readonly RateStretch[], isChanging: boolean): RateEvidence[] {
  if (isChanging) return [];
  const longest = [...stretches].filter(({ support }) => support.length > 0).sort((a, b) => b.length - a.length)[0];
  if (!longest) return [];
  const { support } = longest;
  const fine = support.filter(({ family }) => family.isFine);
  const best = Math.max(...support.map(({ score }) => score));
  const hum = support.filter(({ family, score }) => !family.isFine && score > 0.7 * best);
  return [
    ...fine.map(
      ({ family, seenHz, fittedHz }): RateEvidence => ({
        kind: family.id === 'pilot' ? 'pilot' : 'picture-line',
        text: `a lasting tone at ${seenHz.toFixed(1)} Hz by the header is ${family.label} at ${fittedHz.toFixed(1)} Hz`,
        ...{ measuredHz: fittedHz, uncertaintyPpm: family.tolerancePpm, allows: null, isClaim: false },
        assumes: 'the tone is what it looks like, from equipment with a sync of its day',
      }),
    ),
    ...(hum.length === 0 ? [] : [humEvidence(hum)]),
  ];
}

function humEvidence(hum: RateStretch['support']): RateEvidence {
  const [strongest] = [...hum].sort((a, b) => b.score - a.score);
  const allows = hum.map(({ rateHz: hz }) => hz);
  return {
    kind: 'hum',
    text: `${strongest.family.label} fits ${allows.map((hz) => Number(hz.toFixed(1))).join(', ')} Hz`,
    ...{ measuredHz: null, uncertaintyPpm: null, isClaim: false },
    allows: allows.map(toRate),
    assumes: 'the mains were within 0.2 % of their frequency',
  };
}

/** The exact rates have whole hertz, tenths, or denominators of 143 or 1001. */
function toRate(hz: number): Rate {
  const den = [1, 10, 143, 1001].find((one) => Math.abs(hz * one - Math.round(hz * one)) < 1e-6) ?? 1;
  return rate(Math.round(hz * den), den);
}

export function lossEvidence(findings: readonly Finding[]): RateEvidence[] {
  const period = lossPeriod(findings);
  if (!period) return [];
  return [
    {
      kind: 'loss-period',
      text: `${period.places} losses lie in the rhythm of ${period.label}: ${period.rates.map(formatRate).join(' or ')} (by chance ${period.chance.toExponential(0)})`,
      ...{ measuredHz: null, uncertaintyPpm: null, allows: period.rates, isClaim: false },
      assumes: 'the capture took every sample of the deck, none converted',
    },
  ];
}

export function timecodeEvidence(verdicts: readonly Verdict[], info: FrameInfo): RateEvidence[] {
  return verdicts.flatMap(({ question, evidence, channel }): RateEvidence[] => {
    if (question !== 'timecode') return [];
    const { sections, candidates, words } = evidence as unknown as TimecodeSummary;
    const longest = [...sections].sort((a, b) => b.words - a.words)[0];
    if (!longest?.samplesPerFrame || candidates.length === 0 || words < 250) return [];
    const { samplesPerFrame } = longest;
    const hz = candidates.map((one) => samplesPerFrame * rateHz(one));
    const seen = `timecode on channel ${channel} takes ${samplesPerFrame.toFixed(3)} samples a frame`;
    const assumes = 'the timecode ran at its own rate while the tape was made';
    if (hz.length === 1) {
      return [
        {
          kind: 'timecode',
          text: `${seen}: ${hz[0].toFixed(2)} Hz`,
          measuredHz: hz[0],
          uncertaintyPpm: 100,
          allows: null,
          isClaim: false,
          assumes,
        },
      ];
    }
    const header = rateHz(info.rate);
    const near = hz.filter((one) => Math.abs(one / header - 1) < 0.1);
    return [
      {
        kind: 'timecode',
        text: `${seen}: ${near.map((one) => one.toFixed(2)).join(' or ')} Hz, as it ran at ${candidates.map((one) => rateHz(one).toFixed(2)).join(' or ')} frames`,
        ...{ measuredHz: null, uncertaintyPpm: null, allows: null, isClaim: true, assumes },
      },
    ];
  });
}

/** "3600", "1:00:00.5", each with or without "+-0.5"; without it half a second either way. */
export function clockEvidence(text: string, info: FrameInfo): RateEvidence {
  const match = /^(?:(?:(\d+):)?(\d+):)?(\d+(?:\.\d+)?)(?:\+-(\d+(?:\.\d+)?))?$/.exec(text.replace(/\s/g, ''));
  const [h, m, s, own] = (match ?? []).slice(1).map((part) => Number(part ?? 0));
  const seconds = match ? 3600 * h + 60 * m + s : 0;
  if (seconds <= 0) {
    throw new TapeproofError('input', 'not a duration', {
      expected: 'seconds, m:ss or h:mm:ss, and how well it is known: 1:02:03.5+-0.2',
      found: text,
    });
  }
  const off = match?.[4] === undefined ? 0.5 : own;
  const measuredHz = info.frames / seconds;
  return {
    kind: 'clock',
    text: `${info.frames} frames in ${seconds} s by the clock: ${measuredHz.toFixed(2)} Hz`,
    ...{ measuredHz, uncertaintyPpm: (1e6 * off) / seconds + 20, allows: null, isClaim: false },
    assumes: `the clock is right and the capture whole, within ${off} s`,
  };
}

export function flagEvidence({ stretches }: StatusLog): RateEvidence[] {
  const seen = stretches.filter(({ block }) => block.check?.isRight !== false);
  const words = [...new Set(seen.map(({ block }) => statusTopic(block, 'rate')?.value.words ?? 'not seen'))];
  if (words.length === 0) return [];
  return [
    {
      kind: 'flag',
      text: `the channel status says ${words.join(', then ')}`,
      ...{ measuredHz: null, uncertaintyPpm: null, allows: null, isClaim: true },
      assumes: 'decks without a code of their own send the nearest',
    },
  ];
}
