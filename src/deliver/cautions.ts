// Cautions a report must carry, each only when it applies: what agreement cannot show, what a pass or a file cannot prove.
// Sources: design.md section 6 and the cautions for our own claims in the trade notes. Not for findings.
import { formatRate } from '../base/index.ts';
import { countOf, formatChannels, headerRateHz } from './plain-words.ts';
import type { ProofStatement, ReportCapture, TransferReport } from './report-model.ts';

type Facts = Pick<
  TransferReport,
  'captures' | 'alignment' | 'channels' | 'masters' | 'loopConflicts' | 'refusedJoins' | 'timelines'
>;

export const PROOF_STATEMENT: ProofStatement = Object.freeze({
  words: Object.freeze({
    proven: 'The sample is equal in at least two independent reads (reads from different passes).',
    chosen: 'Reads differ or only one is free of concealment; the reason for the choice is stated.',
    unproven: 'Nobody can say: one read only, or reads that differ with no ground to prefer one.',
    lost: 'No read holds the sample of the tape: concealed in every read, or no read covers it. What stands there is the deck\u2019s estimate, the tape\u2019s error code, or silence. Lost frames are counted within the three states above as well.',
  }),
  cannotShow: Object.freeze([
    'Agreement shows that the reads are equal, not that they are right: damage on the tape itself, and the same way of covering it up, repeat identically in every read.',
    'A concealment that happens to equal the true sample, or differs by less than one step, cannot be seen in the numbers.',
    'A tape carries no checksum that reaches the file; the deck\u2019s own error status is part of this evidence only where a capture brings it: error codes of a DV stream, flags of a DAT drive, a log of the interface.',
  ]),
});

export function cautions(facts: Facts): string[] {
  return [
    ...oneDeck(facts),
    ...relations(facts),
    ...rates(facts),
    ...companding(facts.captures),
    ...noSound(facts.captures),
    ...declared(facts.captures),
    ...errorCodes(facts),
    ...commonStarts(facts),
    ...timecodes(facts),
    ...loops(facts),
  ];
}

/** Hearing: a code is a click at full scale. */
function errorCodes({ captures, channels }: Facts): string[] {
  const hasCodes = captures.some(({ carrier = [] }) => carrier.some(({ kind }) => kind === 'dv'));
  if (!hasCodes || !channels.some(({ lost }) => lost > 0)) return [];
  return [
    'Where no DV read has a sample, the master holds the error code of the tape (-32768, or -32705 from 12-bit words): clicks at full scale. ' +
      'Do not listen to it as it is; a derivative can cover them.',
  ];
}

function oneDeck({ captures, channels }: Facts): string[] {
  const proven = channels.some((tally) => tally.proven > 0);
  const decks = new Set(captures.map((capture) => capture.deck));
  if (!proven || decks.size !== 1) return [];
  const [deck] = decks;
  if (deck === null)
    return ['The sheet names no decks: whether the reads are independent of one machine is not known.'];
  return [
    `All reads come from one deck (${deck}): a fault of that deck may repeat in each of them and pass for agreement.`,
  ];
}

function relations({ captures, alignment }: Facts): string[] {
  const named = (relation: string) =>
    alignment.placements.filter((p) => p.relation === relation).map((p) => captures[p.capture]?.path ?? `${p.capture}`);
  const say = (relation: string, text: string) => {
    const paths = named(relation);
    return paths.length ? [`${paths.join(', ')}: ${text}`] : [];
  };
  return [
    ...say('via-analogue', 'made through an analogue path; never bit-exact, and it proves no sample.'),
    ...say('resampled', 'the sampling rate was converted in the chain; it proves no sample.'),
    ...say('scaled', 'the level was changed in the chain; it is not bit-equal and proves no sample.'),
  ];
}

function rates({ masters }: Facts): string[] {
  const odd = masters.filter((master) => master.rate.den !== 1 || master.headerRateHz !== headerRateHz(master.rate));
  return odd.map(
    ({ path, rate, headerRateHz: header }) =>
      `${path}: the true rate is ${formatRate(rate)}; its header says ${header} Hz because it holds whole hertz only.`,
  );
}

function companding(captures: readonly ReportCapture[]): string[] {
  const laws = new Map<string, number[]>();
  for (const capture of captures) {
    for (const verdict of capture.verdicts) {
      const answer = String(verdict.answer);
      if (verdict.question !== 'code-book' || answer === 'linear' || answer === 'cannot tell') continue;
      const channel = capture.channels[verdict.channel - 1];
      if (channel) laws.set(answer, [...(laws.get(answer) ?? []), channel]);
    }
  }
  return [...laws].map(
    ([law, channels]) =>
      `${capital(formatChannels(channels))}: the values follow a companding law (${law}); the container\u2019s word length is not the word length of the recording.`,
  );
}

/** Data at full level hurts ears and loudspeakers. */
function noSound(captures: readonly ReportCapture[]): string[] {
  return captures.flatMap(({ path, verdicts }) =>
    verdicts
      .filter(({ question, answer }) => question === 'is-audio' && answer === false)
      .map(({ channel, evidence }) => {
        const kind = typeof evidence.looksLike === 'string' ? evidence.looksLike : 'data';
        return `${path}: file channel ${channel} is no sound (${kind}): never send it to the monitor.`;
      }),
  );
}

function declared(captures: readonly ReportCapture[]): string[] {
  const paths = captures.filter((capture) => capture.declaredOffset !== null).map((capture) => capture.path);
  return paths.length ? [`Start on the timeline declared on the sheet, not measured alone: ${paths.join(', ')}.`] : [];
}

function commonStarts({ captures, alignment }: Facts): string[] {
  const paths = alignment.placements
    .filter(({ method }) => method.startsWith('common start'))
    .map(({ capture }) => captures[capture]?.path ?? `${capture}`);
  return paths.length ? [`Joined by a common start that the sheet declares, not by samples: ${paths.join(', ')}.`] : [];
}

function timecodes({ captures, alignment }: Facts): string[] {
  const placed = alignment.placements.filter(({ method }) => method === 'timecode');
  if (placed.length === 0) return [];
  const paths = placed.map(
    ({ capture, uncertaintyFrames }) => `${captures[capture]?.path ?? capture} (± ${uncertaintyFrames} frames)`,
  );
  return [
    `Placed by timecode, not by samples: ${paths.join(', ')}. Between these channels and the others a delay of so many frames may stand in the master, and as much more as the inputs delayed the timecode differently.`,
  ];
}

function loops({ loopConflicts, refusedJoins }: Facts): string[] {
  const out: string[] = [];
  if (loopConflicts.length) {
    out.push(
      `${countOf(loopConflicts.length, 'loop')} of three captures do not add up; one of the placements is wrong.`,
    );
  }
  if (refusedJoins.length) {
    out.push('Parts that could not be joined have masters of their own; their times are not comparable.');
  }
  return out;
}

function capital(text: string): string {
  return text.charAt(0).toUpperCase() + text.slice(1);
}
