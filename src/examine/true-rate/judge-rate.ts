// The true rate of a recording from all that speaks for one: each piece of evidence allows some exact rates or measures one with an uncertainty. The answer is the
// exact rate that all leave over, a measured number of ppm, or "cannot tell". The header is a claim and counts for nothing.
import { type Rate, rateHz, sameRate } from '../../base/index.ts';
import { EXACT_RATES } from './exact-rates.ts';

export interface RateEvidence {
  readonly kind:
    | 'picture-line'
    | 'pilot'
    | 'hum'
    | 'loss-period'
    | 'timecode'
    | 'clock'
    | 'reference'
    | 'flag'
    | 'format';
  readonly text: string;
  /** measured rate and how far it may be off; null where the evidence only allows rates */
  readonly measuredHz: number | null;
  readonly uncertaintyPpm: number | null;
  /** exact rates that it allows; null: all within its uncertainty */
  readonly allows: readonly Rate[] | null;
  /** claims (flags, sheets) are told but prove nothing */
  readonly isClaim: boolean;
  /** what must be true for it to count */
  readonly assumes: string;
}

export interface RateAnswer {
  /** exact; null where only ppm or nothing can be told */
  readonly rate: Rate | null;
  /** the true rate against the header's; null when nobody can tell */
  readonly ppm: number | null;
  readonly uncertaintyPpm: number | null;
  readonly confidence: number;
  readonly because: string;
}

/** A crystal is within this of its nominal rate (consumer clock accuracy, formats.md 10). */
const CRYSTAL_PPM = 100;

export function judgeRate(header: Rate, evidence: readonly RateEvidence[]): RateAnswer {
  const sure = evidence.filter(({ isClaim }) => !isClaim);
  const cannot = (because: string): RateAnswer => ({
    rate: null,
    ppm: null,
    uncertaintyPpm: null,
    confidence: 0,
    because,
  });
  if (sure.length === 0) return cannot('nothing in the recording, and nothing that was given, measures its rate');
  const exact = EXACT_RATES.map(({ rate }) => rate).filter((one) => sure.every((piece) => isAllowed(one, piece)));
  const apart = (rate: Rate) => (rateHz(rate) / rateHz(header) - 1) * 1e6;
  const best = finest(sure);
  if (exact.length === 1) {
    const [rate] = exact;
    const all = sure.map(({ text }) => text).join('; ');
    const uncertaintyPpm = best?.uncertaintyPpm ?? CRYSTAL_PPM;
    return { rate, ppm: apart(rate), uncertaintyPpm, confidence: sure.length > 1 ? 0.999 : 0.99, because: all };
  }
  if (exact.length > 1) {
    const names = exact.map((one) => Number(rateHz(one).toFixed(3))).join(' and ');
    return cannot(`the evidence leaves ${names} Hz`);
  }
  if (best?.measuredHz && agree(sure)) {
    const ppm = (best.measuredHz / rateHz(header) - 1) * 1e6;
    return {
      rate: null,
      ppm,
      uncertaintyPpm: best.uncertaintyPpm,
      confidence: 0.95,
      because: `no exact rate fits; ${best.text}`,
    };
  }
  return cannot(`the evidence contradicts itself: ${sure.map(({ text }) => text).join('; ')}`);
}

function isAllowed(rate: Rate, { allows, measuredHz, uncertaintyPpm }: RateEvidence): boolean {
  if (allows) return allows.some((one) => sameRate(one, rate));
  if (measuredHz === null || uncertaintyPpm === null) return true;
  return Math.abs(measuredHz / rateHz(rate) - 1) * 1e6 <= uncertaintyPpm + CRYSTAL_PPM;
}

function finest(evidence: readonly RateEvidence[]): RateEvidence | undefined {
  return evidence
    .filter(({ measuredHz }) => measuredHz !== null)
    .sort((a, b) => (a.uncertaintyPpm ?? 1e9) - (b.uncertaintyPpm ?? 1e9))[0];
}

/** Measured rates that overlap within their uncertainties, and no exact rate that is demanded instead. */
function agree(evidence: readonly RateEvidence[]): boolean {
  const measured = evidence.filter(({ measuredHz }) => measuredHz !== null);
  if (evidence.some(({ allows }) => allows !== null)) return false;
  return measured.every((a) =>
    measured.every((b) => {
      const apart = Math.abs((a.measuredHz ?? 0) / (b.measuredHz ?? 1) - 1) * 1e6;
      return apart <= (a.uncertaintyPpm ?? 0) + (b.uncertaintyPpm ?? 0);
    }),
  );
}
