// What a person does in one pass, in the order of doing it, to tick off: the contents of a patch sheet, shared by its text and its page.
// Cautions follow design.md section 6: short, where the step comes up, deferring to trained service people and local rules.
import { formatRate, rateHz } from '../../base/index.ts';
import type { PlanCapture, PlanConnection, PlanPass } from '../../plan/index.ts';
import { conditionCautions } from './condition-cautions.ts';
import type { PlanDocument } from './plan-document.ts';
import { capital, channelText, clockText, hoursText, markedText, passTitle, storageText } from './plan-words.ts';

export interface PatchStep {
  readonly title: string;
  /** each is ticked off */
  readonly tasks: readonly string[];
  /** to be read before the tasks */
  readonly cautions: readonly string[];
}

/** A cable with the letter it has in the drawing. */
export interface PatchCable {
  readonly letter: string;
  readonly connection: PlanConnection;
}

export interface PatchSheet {
  readonly pass: number;
  readonly title: string;
  /** time, effort, tape: one line each */
  readonly facts: readonly string[];
  readonly cables: readonly PatchCable[];
  readonly captures: readonly PlanCapture[];
  /** how the recorders get the deck's clock */
  readonly clock: string;
  readonly steps: readonly PatchStep[];
  /** what is written down by hand */
  readonly fields: readonly string[];
}

export function patchSheet(document: PlanDocument, pass: PlanPass): PatchSheet {
  const { tape, passes } = document;
  const cables = pass.connections.map((connection, i) => ({ letter: letterOf(i), connection }));
  const gigabytes = pass.captures.reduce((sum, { size }) => sum + size.bytes, 0) / 1e9;
  return {
    pass: pass.pass,
    title: `${tape.id}: ${passTitle(pass)} (${pass.pass} of ${passes.length})`,
    facts: [
      `The tape runs ${clockText(pass.minutes)}; about ${hoursText(pass.hours)} of work in all; ${gigabytes.toFixed(2)} GB.`,
      `${tape.formatLabel ?? 'Format not given'}${tape.system ? `, ${tape.system}` : ''}; ${formatRate(document.rate)}, ${document.bits} bit.`,
    ],
    ...{ cables, captures: pass.captures, clock: clockSentence(pass) },
    steps: [
      tapeStep(document, pass),
      deckStep(document, pass),
      cableStep(cables, pass),
      recorderStep(document, pass),
      proofStep(document, pass),
      runStep(pass),
      afterStep(pass),
    ].filter(({ tasks }) => tasks.length > 0),
    fields: fieldsOf(pass),
  };
}

/** A to Z, then AA: a bench has at most a few dozen cables. */
export function letterOf(index: number): string {
  const letter = String.fromCharCode(65 + (index % 26));
  return index < 26 ? letter : `${letterOf(Math.floor(index / 26) - 1)}${letter}`;
}

function clockSentence({ deck, captures }: PlanPass): string {
  const by = (clock: PlanCapture['clock']) =>
    captures.filter((one) => one.clock === clock).map(({ recorder }) => recorder);
  const parts = [
    ...phrase(by('input'), (names) => `${names} ${plural(by('input'), 'follows its', 'follow their')} digital input`),
    ...phrase(
      by('word'),
      (names) => `${names} ${plural(by('word'), 'follows', 'follow')} the word clock output of ${deck}`,
    ),
    ...phrase(by('none'), (names) => `${names} ${plural(by('none'), 'needs', 'need')} no clock for this`),
  ];
  return `Clock master: the deck, ${deck}. ${parts.join('; ')}.`;
}

function tapeStep({ tape, wanted, passes }: PlanDocument, pass: PlanPass): PatchStep {
  const isFirst = passes[0] === pass;
  return {
    title: 'The tape',
    cautions: isFirst || wanted.condition === 'poor' ? conditionCautions(wanted) : [],
    tasks: [
      `Right cassette: ${tape.id}. Write protection set.`,
      ...(isFirst
        ? [
            'Looked at: shell, tape pack, mould, splices. In the room long enough to have its temperature.',
            'Wound once to the end and back, without stops.',
          ]
        : []),
    ],
  };
}

function deckStep({ wanted, misplays, tape }: PlanDocument, { deck, programme, connections }: PlanPass): PatchStep {
  const speed = wanted.speed === null ? '' : `, ${wanted.speed}`;
  const set = connections.filter(({ mustBeSet }) => mustBeSet);
  return {
    title: `The deck: ${deck}`,
    cautions: [
      'Never open a deck: mains voltage, and capacitors that stay charged after unplugging. Faults go to trained service people.',
      ...misplays
        .filter(({ kind }) => kind === 'deck' || kind === 'speed')
        .map(({ when, effect }) => `${capital(when)}: ${markedText(effect)}`),
    ],
    tasks: [
      'Heads and path clean (by the deck\u2019s manual; solvents only in a ventilated room, no flame), a known good tape replays without errors.',
      `Set to ${[tape.formatLabel, tape.system].filter((one) => one !== null).join(', ') || 'the format of the tape'}${speed}.`,
      ...(programme === null ? [] : [`Programme ${programme} selected.`]),
      ...set.map(({ output, channels }) => `Output ${output} set to channels ${channelText(channels)}, in this order.`),
      'Replay on the deck\u2019s own clock, not on an external reference; no emphasis, level or mixing function in the path that can be switched off.',
    ],
  };
}

function cableStep(cables: readonly PatchCable[], { deck, captures }: PlanPass): PatchStep {
  const cautions = new Set(cables.flatMap(({ connection }) => connection.cautions.map(markedText)));
  const word = captures.filter(({ clock }) => clock === 'word');
  return {
    title: 'Cables',
    cautions: [...cautions],
    tasks: [
      ...cables.map(({ letter, connection: one }) => {
        const through = one.adapter === null ? one.cable : `${one.cable}, ${one.adapter}`;
        return `${letter}: ${deck} ${one.output} to ${one.recorder} ${one.input}, channels ${channelText(one.channels)}, through ${through}${one.isNew ? '' : ' (stays as it is)'}.`;
      }),
      ...word.map(({ recorder }) => `Word clock: ${deck} to ${recorder}, 75 ohm, one source and one end.`),
    ],
  };
}

/** The interface says 32, 44.1 or 48 kHz at most; what the recorder shows or writes is not the rate (formats note 10, R42). */
function recorderStep({ rate }: PlanDocument, { captures }: PlanPass): PatchStep {
  const hz = rateHz(rate);
  const isCoded = [32_000, 44_100, 48_000, 88_200, 96_000].includes(hz);
  return {
    title: 'Recorders',
    cautions: isCoded
      ? []
      : [
          `No interface has a code for ${formatRate(rate)}: a display or a file may say another rate. What counts is that the input is locked; leave the label as it comes.`,
        ],
    tasks: captures.flatMap((capture) => {
      const { recorder } = capture;
      if (capture.isStream)
        return [`${recorder}: takes the data stream unchanged, with its own timecode; file ${capture.file}.`];
      return [
        `${recorder}: ${capture.bits} bit; ${clockTask(capture)}; file ${capture.file}.`,
        `${recorder}: off: dither, gain and normalising (unity), limiter, filters, mixing, automatic track marks${capture.canResample ? ', and the RATE CONVERSION of its input' : ''}.`,
        ...(capture.timecode
          ? [
              `${recorder}: keeps the tape\u2019s timecode; where that is sound on a channel of the file, timecode: and a 0 in channels go on the sheet.`,
            ]
          : []),
        ...(capture.isAnalogue
          ? [`${recorder}: level set once, with 6 dB or more of headroom, and written down.`]
          : []),
      ];
    }),
  };
}

function clockTask({ clock }: PlanCapture): string {
  if (clock === 'input') return 'clock from its digital input, lock lamp on';
  return clock === 'word' ? 'clock from its word clock input, lock lamp on' : 'its own clock';
}

function proofStep({ rate }: PlanDocument, { captures }: PlanPass): PatchStep {
  const digital = captures.filter(({ isStream, isAnalogue }) => !isStream && !isAnalogue);
  const bits = [...new Set(digital.map((one) => one.bits))];
  const hertz = rate.den === 1 ? `${rate.num}` : `${rate.num}/${rate.den}`;
  return {
    title: 'The chain',
    cautions: digital.length > 0 ? ['Never listen to a test signal: monitors off.'] : [],
    tasks:
      digital.length === 0
        ? []
        : [
            `Proven since it was last changed, or proven now: tapeproof signal chain --bits ${bits.join(' or ')} --rate ${hertz} --out chain.wav sent through, tapeproof chain on what comes back.`,
          ],
  };
}

function runStep({ captures, minutes, deck }: PlanPass): PatchStep {
  const together = new Map<string, string[]>();
  for (const { starts, recorder } of captures) {
    if (starts !== null) together.set(starts, [...(together.get(starts) ?? []), recorder]);
  }
  const splits = captures.flatMap(({ recorder, size }) =>
    size.splitMinutes.length === 0
      ? []
      : [
          `${recorder} begins its next file at ${size.splitMinutes.slice(0, 12).map(clockText).join(', ')}: watch that it does.`,
        ],
  );
  return {
    title: 'Run',
    cautions: [
      'Hearing: monitors muted until the level is known, then low. A damaged tape can burst out at full scale; data that is no sound belongs on no monitor.',
    ],
    tasks: [
      ...[...together.values()]
        .filter((names) => names.length > 1)
        .map((names) => `${names.join(' and ')} armed to start together.`),
      'Recorders started first, 10 s or more before the deck.',
      `${deck} started; locked within some seconds; runs ${clockText(minutes)} without pause or stop.`,
      ...splits,
      'If the lock is lost: time written down, the tape let run on. If it does not come back: stopped, wound back a minute, started again into a next file, which becomes a capture of its own on the sheet.',
      'Recorders stopped 10 s or more after the end of the recording.',
    ],
  };
}

function afterStep({ captures }: PlanPass): PatchStep {
  return {
    title: 'Afterwards',
    cautions: ['Copy flags and rights are written down: neither stripped nor obeyed.'],
    tasks: [
      ...captures.map((capture) => `${fileNames(capture).join(', ')} there: ${storageText(capture)}.`),
      'Nothing cut, renamed or converted but the file name; a copy on a second store.',
      'tapeproof examine on the new files, before the next pass.',
    ],
  };
}

/** Names of the parts where the recorder goes on in a next file. */
export function fileNames({ file, size }: Pick<PlanCapture, 'file' | 'size'>): string[] {
  if (size.splitMinutes.length === 0) return [file];
  const dot = file.lastIndexOf('.');
  return [0, ...size.splitMinutes].map((_, part) => `${file.slice(0, dot)}_${part + 1}${file.slice(dot)}`);
}

function fieldsOf({ captures, deck }: PlanPass): string[] {
  return [
    'date, who',
    `${deck}: serial number, hours before and after`,
    'tape: start and end as the deck shows them (counter, timecode)',
    'error display or interpolation lamp: reading before, after, and when it rose',
    ...captures.flatMap(({ recorder, isStream }) =>
      isStream
        ? []
        : [
            `${recorder}: what the input shows (rate, word length, emphasis, copy flags; on the sheet as status:), level, serial number`,
          ],
    ),
    'lock lost, stops, anything heard: time',
    'firmware and settings that were found changed',
  ];
}

function phrase(names: readonly string[], say: (names: string) => string): string[] {
  return names.length === 0
    ? []
    : [say(names.length < 3 ? names.join(' and ') : `${names.slice(0, -1).join(', ')} and ${names.at(-1)}`)];
}

function plural(names: readonly string[], one: string, many: string): string {
  return names.length === 1 ? one : many;
}
