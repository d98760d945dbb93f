// What a chain did, in sentences: verdict, each change, and the limits of the proof. Shared by text and page. Judges nothing.
import { formatRate, rateHz, secondsOf } from '../../base/index.ts';
import type { ChainFinding } from '../../measure/index.ts';
import { countOf, formatChannels } from '../plain-words.ts';
import type { ChainDocument } from './chain-document.ts';

export function verdictSentence({ verdict, proof, findings, channels }: ChainDocument): string {
  const samples = count(proof.samplesCompared);
  if (verdict === 'transparent')
    return `Transparent: each of the ${samples} samples that were compared, in ${channels.length === 2 ? 'both' : channels.length} channels, came back unchanged.`;
  if (verdict === 'incomplete')
    return `Not certified: the ${samples} samples that were captured are unchanged, but the capture does not hold the whole signal.`;
  const what = [...new Set(findings.map((finding) => TITLES[finding.kind]))].join(', ');
  if (verdict === 'analogue')
    return `Not transparent: an analogue detour, or something that acts like one (noise of its own, and a response or clock of its own). Found: ${what}.`;
  return `Not transparent: ${what || 'something that no story explains'}.`;
}

/** Names of the changes, as lists show them. */
export const TITLES: Readonly<Record<ChainFinding['kind'], string>> = {
  gain: 'gain',
  polarity: 'turned polarity',
  dc: 'offset (DC)',
  truncation: 'shorter word',
  dither: 'dither',
  noise: 'noise',
  swap: 'channels swapped',
  duplicate: 'one channel twice',
  missing: 'a channel is missing',
  crosstalk: 'crosstalk',
  mix: 'channels mixed',
  delay: 'delay between the channels',
  slips: 'samples lost or repeated',
  'rate-conversion': 'rate conversion or clocks apart',
  'rate-label': 'wrong rate in the header',
  filter: 'filter',
  limiter: 'gain that follows the level',
  clip: 'clipping',
  bits: 'bits at fault',
  errors: 'wrong samples',
  other: 'something else',
};

export function findingSentence(finding: ChainFinding, document: ChainDocument): string {
  switch (finding.kind) {
    case 'gain':
      return gainSentence(finding);
    case 'polarity':
      return 'Every sample has the opposite sign.';
    case 'dc':
      return `${finding.steps.toFixed(finding.basis === 'proof' ? 0 : 1)} steps${plusMinus(finding.uncertainty, 1)} of the captured word are added to every sample (${finding.db.toFixed(1)} dBFS).`;
    case 'truncation':
      return `Of ${finding.of} bits ${finding.bits} are left; the rest is ${SHORTENED[finding.how]}.`;
    case 'dither':
      return `${DITHERS[finding.shape]}: what remains is ${finding.rmsSteps.toFixed(3)} steps rms. A statistical judgement.`;
    case 'noise':
      return noiseSentence(finding);
    case 'swap':
      return 'The second sent channel comes before the first.';
    case 'duplicate':
      return `All captured channels hold sent channel ${finding.source}.`;
    case 'missing':
      return finding.channels.length > 0
        ? 'The channel was asked for and holds nothing of the signal.'
        : `Sent channel ${finding.source} is missing in what was captured.`;
    case 'crosstalk':
      return `The other channel is added at ${finding.db.toFixed(2)} dB${plusMinus(finding.uncertainty, 2)} of the own one${finding.isTurned ? ', with opposite sign' : ''}.`;
    case 'mix':
      return `Both sent channels are added up, the second at ${finding.db.toFixed(2)} dB of the first${finding.isTurned ? ', with opposite sign' : ''}.`;
    case 'delay':
      return `The channel comes ${number(finding.frames, 3)} frames later than the first.`;
    case 'slips':
      return slipSentence(finding, document);
    case 'rate-conversion':
      return rateSentence(finding, document);
    case 'rate-label':
      return `The file says ${finding.labelHz} Hz, its samples are those of ${number(finding.sentHz, 3)} Hz: it would be played at the wrong speed.`;
    case 'filter':
      return filterSentence(finding);
    case 'limiter':
      return `From ${finding.fromDb.toFixed(0)} dBFS the gain ${finding.way === 'less when loud' ? 'falls' : 'rises'}, by ${Math.abs(finding.mostDb).toFixed(2)} dB at most.`;
    case 'clip':
      return `${countOf(finding.samples, 'sample')} would lie beyond ${finding.highDb.toFixed(2)} dBFS (upwards) or ${finding.lowDb.toFixed(2)} dBFS (downwards) and stand at that end.`;
    case 'bits':
      return bitsSentence(finding);
    case 'errors':
      return errorSentence(finding);
    case 'other':
      return otherSentence(finding);
  }
}

type Of<Kind extends ChainFinding['kind']> = Extract<ChainFinding, { kind: Kind }>;

const SHORTENED = {
  rounded: 'rounded',
  cut: 'cut off (towards minus infinity)',
  'towards zero': 'cut off towards zero',
};
const DITHERS = {
  triangular: 'Triangular dither of two steps',
  rectangular: 'Rectangular dither of one step',
  shaped: 'Dither or rounding error whose noise was shaped',
};

function gainSentence({ ratio, low, high, db, fraction, basis }: Of<'gain'>): string {
  const exact = fraction ? `${fraction.num}/${fraction.den}` : number(ratio, 9);
  if (basis === 'proof')
    return `Every sample is the sent one times ${exact} (${number(db, 4)} dB), shortened to the word; all ratios from ${low.toFixed(10)} to ${high.toFixed(10)} fit.`;
  return `${number(db, 3)} dB: times ${number(ratio, 6)} ± ${((high - low) / 2).toPrecision(2)}.`;
}

function noiseSentence({ db, rmsSteps, equalBits, coveredBits, spectrum }: Of<'noise'>): string {
  const line = spectrum?.lineHz === undefined ? '' : ` Most of it stands near ${spectrum.lineHz.toFixed(0)} Hz.`;
  return `${db.toFixed(1)} dBFS rms (${number(rmsSteps, 2)} steps of the captured word), in silence too: as much as rounding to ${equalBits.toFixed(1)} bits; it covers the lowest ${coveredBits.toFixed(1)} bits of the sent word.${line}`;
}

const MOST_PLACES = 6;

function slipSentence({ slips, net, ppm }: Of<'slips'>, { captured }: ChainDocument): string {
  const lost = slips.filter((slip) => slip.frames < 0).reduce((sum, slip) => sum - slip.frames, 0);
  const more = slips.filter((slip) => slip.frames > 0).reduce((sum, slip) => sum + slip.frames, 0);
  const places = slips.slice(0, MOST_PLACES).map(({ frame, least, most, frames }) => {
    const at = least === most ? `frame ${frame}` : `between frames ${least} and ${most}`;
    return `${frames < 0 ? '' : '+'}${number(frames, 2)} at ${at} (${secondsOf(frame, captured.rate).toFixed(3)} s)`;
  });
  const rest = slips.length > MOST_PLACES ? ` and ${slips.length - MOST_PLACES} more places` : '';
  return `${countOf(slips.length, 'jump')}: ${number(lost, 2)} frames lost, ${number(more, 2)} repeated or put in: ${places.join('; ')}${rest}. In all ${number(net, 2)} frames, as clocks ${Math.abs(ppm).toFixed(2)} ppm apart would do.`;
}

function rateSentence(
  { ratio, uncertainty, nominal, ppm, ppmUncertainty, scatterFrames }: Of<'rate-conversion'>,
  { signal, captured }: ChainDocument,
): string {
  const isOne = nominal.num === nominal.den;
  const what = isOne
    ? 'The recorder did not run on the clock of the player'
    : `Converted at ${nominal.num}/${nominal.den} (${formatRate(signal.rate)} to about ${number((rateHz(signal.rate) * nominal.num) / nominal.den, 2)} Hz; the file says ${formatRate(captured.rate)})`;
  const wander =
    scatterFrames > 0.05 ? ` The places scatter by ${scatterFrames.toFixed(2)} frames about a steady rate.` : '';
  return `${what}: ${ratio.toFixed(9)} ± ${uncertainty.toExponential(1)} frames captured for each frame sent, ${ppm.toFixed(3)} ± ${ppmUncertainty.toPrecision(2)} ppm from ${isOne ? 'one' : 'that'}.${wander}`;
}

function filterSentence({ response, delayFrames }: Of<'filter'>): string {
  const { lowEdgeHz, highEdgeHz, rippleDb } = response;
  const low = lowEdgeHz === undefined ? '' : ` from ${lowEdgeHz.toFixed(0)} Hz`;
  const high = highEdgeHz === undefined ? '' : ` up to ${highEdgeHz.toFixed(0)} Hz`;
  const band = low || high ? `passes${low}${high} (3 dB), ` : '';
  const delay =
    Math.abs(delayFrames) < 0.005
      ? ''
      : ` It delays the middle of the band by ${delayFrames.toFixed(2)} frames beyond whole frames.`;
  return `A linear filter explains the capture: ${band}within ${rippleDb.toFixed(2)} dB there, down to 50 Hz.${delay}`;
}

function bitsSentence({ states }: Of<'bits'>): string {
  const wrong = states.flatMap((state, bit) => (state === 'same' ? [] : [`bit ${bit} ${state}`]));
  return `${wrong.join(', ')} (bit 0 is the lowest of the sent word); all other bits are as sent in every sample.`;
}

function errorSentence({ spans, frames, stillFrames }: Of<'errors'>): string {
  const places = spans
    .slice(0, MOST_PLACES)
    .map((span) => (span.frames === 1 ? `frame ${span.frame}` : `${span.frames} frames from ${span.frame}`));
  const rest = spans.length > MOST_PLACES ? ` and ${spans.length - MOST_PLACES} more` : '';
  const still = stillFrames > 0 ? ` ${count(stillFrames)} of them stand still (muted or held).` : '';
  return `${countOf(frames, 'sample')} at ${countOf(spans.length, 'place')} are not what the rest of the capture leads to expect: ${places.join(', ')}${rest}.${still}`;
}

function otherSentence({ restDb, belowSignalDb, spectrum }: Of<'other'>): string {
  const most = spectrum ? ` Its power is greatest near ${(spectrum.lineHz ?? spectrum.loudestHz).toFixed(0)} Hz.` : '';
  return `A difference of ${restDb.toFixed(1)} dBFS (${(-belowSignalDb).toFixed(1)} dB below the signal) that follows the sound and that no story here explains.${most}`;
}

/** What the judgement proves and what it cannot have seen. */
export function proofSentences(document: ChainDocument): string[] {
  const { proof, signal, coverage, verdict } = document;
  const out = [
    `${count(proof.samplesCompared)} samples were compared (${proof.seconds.toFixed(1)} s), ${count(proof.samplesEqual)} are equal.`,
  ];
  if (!coverage.isWhole) {
    out.push(
      `Captured were frames ${coverage.sentFrom} to ${coverage.sentTo} of the ${signal.frames} sent; digital zero at the ends does not count. The rest was not tested.`,
    );
  }
  if (verdict === 'transparent' || verdict === 'incomplete') {
    const values =
      proof.hasAllValues === true
        ? ' Each of the values of the word was sent and came back, in both channels.'
        : proof.hasAllValues === false
          ? ' Not every value of the word was sent.'
          : '';
    out.push(`${proof.bitsMoved} of ${signal.bits} bits were both 0 and 1 in each channel.${values}`);
    if (proof.seenFaultRate !== null)
      out.push(
        `A fault that strikes samples at random more often than once in ${count(Math.floor(1 / proof.seenFaultRate))} would have been seen with a certainty of 95 per cent; a rarer one, or one that comes later or with other material, not.`,
      );
    out.push(
      'It holds for this word length and rate, these settings and this run. A unit that acts only on certain values, levels or after a long time may act on other material.',
    );
  }
  return out;
}

/** "channels 1, 2", or nothing where a change is of no channel. */
export function channelText({ channels }: ChainFinding): string {
  return channels.length === 0 ? '' : formatChannels(channels);
}

function plusMinus(uncertainty: number, digits: number): string {
  return uncertainty > 0 ? ` ± ${uncertainty.toFixed(digits)}` : '';
}

/** At most `digits` decimals, none that say nothing. */
function number(value: number, digits: number): string {
  return String(Number(value.toFixed(digits)));
}

function count(value: number): string {
  return String(value).replace(/\B(?=(\d{3})+$)/g, ' ');
}

/** How the capture was read and which channels were judged, where that was said. */
export function settingLines({ settings }: ChainDocument): string[] {
  const { channels, readWith } = settings;
  return [
    ...(channels ? [`Channels of the capture that were judged: ${channels.join(', ')}.`] : []),
    ...(readWith?.raw ? [`Read as bare samples: ${readWith.raw}.`] : []),
    ...(readWith?.trailing ? ['Audio behind the stated size was read.'] : []),
  ];
}
