// Whether a recorder can take what a deck sends without changing or losing a sample, and how it would be set. Not for routing.
import { formatRate, rateHz } from '../base/index.ts';
import type { Deck, Recorder } from './bench.ts';
import { isAnalogueKind, isStreamKind } from './connection.ts';
import { type Reason, reason } from './reason.ts';
import { isCodedRate, type TapeFacts } from './tape-facts.ts';

/** Quartz clocks are within 50 ppm (IEC 60958-3 level I, M); twice that is still the rate that is named. */
const RATE_TOLERANCE = 1e-4;
/** What two free clocks of good equipment differ by (trade notes C: up to +-10 ppm, T). */
const FREE_CLOCK_PPM = 10;

/** Reasons against digital inputs of the recorder, whatever deck it hangs on. */
export function recorderReasons(recorder: Recorder, facts: TapeFacts): Reason[] {
  const against = (code: Reason['code'], why: string, help: string) =>
    reason('recorder', recorder.name, code, why, help);
  const out: Reason[] = [];
  if (wordFor(recorder, facts.bits) === null) {
    const why = `records at most ${Math.max(...recorder.bits)} bits, the tape gives ${facts.bits}`;
    out.push(
      against('word-too-short', why, `a recorder of ${facts.bits} bits or more: short words lose the lowest bits`),
    );
  }
  if (!recorder.inputs.some(({ kind }) => isClockedKind(kind))) return out;
  if (recorder.clock === 'internal') {
    const every = 1e6 / (FREE_CLOCK_PPM * rateHz(facts.rate));
    const why = `cannot lock to an external clock: at ${FREE_CLOCK_PPM} ppm apart a sample is lost or repeated every ${every.toFixed(1)} s`;
    out.push(against('cannot-lock', why, 'a recorder that follows its digital input or a word clock'));
  }
  if (recorder.resamples === 'always') {
    out.push(against('resamples', 'its inputs always resample: no sample is the tape\u2019s any more', RESAMPLE_HELP));
  }
  if (!takesRate(recorder, facts)) {
    const taken = (recorder.rates ?? []).map(({ lowHz, highHz }) =>
      lowHz === highHz ? `${lowHz}` : `${lowHz} to ${highHz}`,
    );
    const odd = isCodedRate(facts.rate)
      ? ''
      : ' (the interface has no code for this rate: the input must simply follow)';
    const why = `takes ${taken.join(', ')} Hz, the tape gives ${formatRate(facts.rate)}${odd}`;
    out.push(
      against(
        'rate',
        why,
        `a recorder that follows ${formatRate(facts.rate)}; if this one does, give the range as in 30k-50k`,
      ),
    );
  }
  return out;
}

const RESAMPLE_HELP = 'a recorder without rate conversion, or one where it can be switched off';

/** Against this recorder on this deck. */
export function pairReasons(recorder: Recorder, deck: Deck): Reason[] {
  if (recorder.clock !== 'word' || deck.wordClock) return [];
  const why = `follows only a word clock, and ${deck.name} gives none out`;
  return [
    reason(
      'recorder',
      recorder.name,
      'cannot-lock',
      why,
      'a deck with a word clock output, or a recorder that follows its input',
    ),
  ];
}

/** The shortest word length of the recorder that holds `bits`; null when none does. */
export function wordFor(recorder: Recorder, bits: number): number | null {
  return recorder.bits.find((one) => one >= bits) ?? null;
}

/** Whether the recorder must lock to the deck for this kind of input; data and analogue carry no clock to follow. */
export function isClockedKind(kind: string): boolean {
  return !isStreamKind(kind) && !isAnalogueKind(kind);
}

function takesRate(recorder: Recorder, { rate }: TapeFacts): boolean {
  const hz = rateHz(rate);
  return (
    recorder.rates === null ||
    recorder.rates.some(
      ({ lowHz, highHz }) => hz >= lowHz * (1 - RATE_TOLERANCE) && hz <= highHz * (1 + RATE_TOLERANCE),
    )
  );
}

/** What the file's header will probably say; null where only the recorder knows. */
export function labelHz(recorder: Recorder, { rate }: TapeFacts): number | null {
  const hz = rateHz(rate);
  const named = recorder.rates?.find(
    ({ lowHz, highHz }) => lowHz === highHz && Math.abs(lowHz / hz - 1) <= RATE_TOLERANCE,
  );
  return named ? named.lowHz : null;
}
