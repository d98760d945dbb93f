// Which deck output may go into which recorder input, what stands between them and what to mind. Facts with their certainty; not for
// what a recorder does with the signal (rule-out.ts).
import type { Fact } from '../tape/index.ts';

export interface ConnectionKind {
  readonly cable: string;
  /** what is needed between the two; null: only the cable */
  readonly adapter: string | null;
  readonly isAnalogue: boolean;
  readonly cautions: readonly Fact<string>[];
}

const KNOWN = ['aes3', 'aes3id', 'spdif', 'optical', 'analogue', 'analogue-consumer', 'dif'] as const;
export type KnownKind = (typeof KNOWN)[number];

export function isKnownKind(kind: string): kind is KnownKind {
  return (KNOWN as readonly string[]).includes(kind);
}

export function plugKinds(): readonly string[] {
  return KNOWN;
}

export function isAnalogueKind(kind: string): boolean {
  return kind === 'analogue' || kind === 'analogue-consumer';
}

/** The data itself, not audio on a clock. */
export function isStreamKind(kind: string): boolean {
  return kind === 'dif';
}

/** Null where no passive adapter or common converter leads from one to the other. A kind of the user's fits only itself. */
export function connectionOf(from: string, to: string): ConnectionKind | null {
  if (!isKnownKind(from) || !isKnownKind(to)) return from === to ? ownKind(from) : null;
  if (isAnalogueKind(from) || isAnalogueKind(to)) {
    return isAnalogueKind(from) && isAnalogueKind(to) ? analogue(from, to) : null;
  }
  if (from === 'dif' || to === 'dif') return from === to ? DIF : null;
  return digital(from as Digital, to as Digital);
}

type Digital = 'aes3' | 'aes3id' | 'spdif' | 'optical';

const AES3_LEVEL = trade('AES3 balanced is 110 ohm and 2 to 7 V peak to peak (3 to 10 V before 1992).', 'R50');
const AES3ID_LEVEL = trade('AES3-id is 75 ohm and 1 V peak to peak.', 'R50');
const SPDIF_LEVEL = memory('S/PDIF coaxial is 75 ohm and 0.5 V peak to peak; use video cable, not sound cable.');
const BALANCED_CABLE = memory(
  'Use 110 ohm digital cable: microphone cable may work for a few metres and fail at random.',
);
const ONE_TO_ONE = memory('One output, one input: never split it with a Y cable.');
const STATUS = memory(
  'Professional and consumer channel status are different: a consumer input may refuse a professional signal or misread emphasis and copy flags. What rewrites the status loses them: note them from the deck.',
);
const FIBRE = memory('Plastic fibre: short, no tight bends, dust caps off; rates above 48 kHz often fail.');
const ACTIVE = memory(
  'A converter between coaxial and optical has a circuit of its own: prove it with the chain test.',
);
const LOW_LEVEL = memory('0.5 V is below what AES3 sends; most inputs work down to 0.2 V: watch the lock lamp.');
const HIGH_LEVEL: Fact<string> = {
  value: 'AES3 levels, 2 V and more, overload a consumer input for 0.5 V: a plain plug adapter is not enough.',
  ...{ source: 'R50', certainty: 'D', weakest: 'M' },
};

function digital(from: Digital, to: Digital): ConnectionKind {
  const levels = { aes3: [AES3_LEVEL], aes3id: [AES3ID_LEVEL], spdif: [SPDIF_LEVEL], optical: [FIBRE] };
  const isCrossing = (from === 'aes3' || from === 'aes3id') !== (to === 'aes3' || to === 'aes3id');
  const cautions = [
    ...levels[from],
    ...(from === to ? [] : levels[to]),
    ...(from === 'aes3' && to === 'spdif' ? [HIGH_LEVEL] : []),
    ...(from === 'spdif' && (to === 'aes3' || to === 'aes3id') ? [LOW_LEVEL] : []),
    ...(from !== to && (from === 'optical' || to === 'optical') ? [ACTIVE] : []),
    ...(from === 'aes3' ? [BALANCED_CABLE] : []),
    ...(isCrossing ? [STATUS] : []),
    ...(from === 'optical' ? [] : [ONE_TO_ONE]),
  ];
  return { cable: CABLE[from], adapter: ADAPTERS[`${from}>${to}`] ?? null, isAnalogue: false, cautions };
}

const CABLE: Readonly<Record<Digital, string>> = {
  aes3: '110 ohm balanced digital cable',
  aes3id: '75 ohm coaxial cable',
  spdif: '75 ohm coaxial cable',
  optical: 'optical fibre',
};

/** Common practice; impedances and levels as in the cautions. */
const ADAPTERS: Readonly<Record<string, string>> = {
  'aes3>aes3id': 'transformer 110 to 75 ohm with attenuator to 1 V',
  'aes3>spdif': 'transformer 110 to 75 ohm with attenuator to 0.5 V',
  'aes3>optical': 'format converter, balanced to optical',
  'aes3id>aes3': 'transformer 75 to 110 ohm',
  'aes3id>spdif': 'attenuator 1 V to 0.5 V with plug adapter',
  'aes3id>optical': 'format converter, coaxial to optical',
  'spdif>aes3': 'transformer 75 to 110 ohm',
  'spdif>aes3id': 'plug adapter',
  'spdif>optical': 'converter, coaxial to optical',
  'optical>aes3': 'format converter, optical to balanced',
  'optical>aes3id': 'format converter, optical to coaxial',
  'optical>spdif': 'converter, optical to coaxial',
};

const DIF: ConnectionKind = {
  cable: 'data cable for the digital stream',
  adapter: null,
  isAnalogue: false,
  cautions: [
    memory('Connect and disconnect with both ends switched off: the data port is easily damaged.'),
    memory('The stream passes error codes on that other outputs cover up: the best source where it can be had.'),
  ],
};

function analogue(from: KnownKind, to: KnownKind): ConnectionKind {
  const isMixed = from !== to;
  const adapter = isMixed ? 'level adapter between balanced (+4 dBu) and consumer (-10 dBV)' : null;
  return {
    cable: from === 'analogue' ? 'balanced sound cable' : 'unbalanced sound cable, short',
    adapter,
    isAnalogue: true,
    cautions: [
      standard('An analogue detour is never bit-exact: its reads prove no sample and must be declared as such.', 'R49'),
      memory(
        'Consumer outputs (about 0.3 V) are 12 dB below balanced ones (1.2 V): set the level once, with headroom, and note it.',
      ),
      memory('Two mains earths hum: connect sound before power, and never lift a protective earth.'),
    ],
  };
}

function ownKind(kind: string): ConnectionKind {
  return {
    cable: `cable for ${kind}`,
    adapter: null,
    isAnalogue: false,
    cautions: [
      memory(`Nothing is known here of ${kind}: its levels, clock and flags stand in the manuals of both machines.`),
    ],
  };
}

function memory(value: string): Fact<string> {
  return { value, source: 'memory', certainty: 'M' };
}

function trade(value: string, source: string): Fact<string> {
  return { value, source, certainty: 'T' };
}

function standard(value: string, source: string): Fact<string> {
  return { value, source, certainty: 'S' };
}
