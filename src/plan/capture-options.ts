// Every useful way in which one recorder can take channels from one deck in a pass: which outputs into which inputs, what it costs.
// Channels here are positions among the wanted channels of one programme, as bits of a mask. Not for choosing among them.
import type { Deck, DeckOutput, PlanRequest, Recorder, RecorderInput } from './bench.ts';
import { connectionOf, isAnalogueKind, isStreamKind } from './connection.ts';
import { captureCost } from './cost.ts';
import { isClockedKind, pairReasons, recorderReasons, wordFor } from './fit-recorder.ts';
import { type Reason, reason } from './reason.ts';
import { type CaptureSize, captureSize, streamSize } from './storage.ts';
import type { TapeFacts } from './tape-facts.ts';

export interface PlannedLink {
  /** indices of the deck's output and the recorder's input */
  readonly output: number;
  readonly input: number;
  /** channel of the programme on each channel of the cable that the input takes */
  readonly channels: readonly number[];
}

export interface CaptureOption {
  readonly outputs: number;
  readonly channels: number;
  /** thousandths of a point */
  readonly cost: number;
  readonly links: readonly PlannedLink[];
  readonly bytes: number;
  readonly bits: number;
  readonly fileChannels: number;
  /** connections through converters */
  readonly analogueLinks: number;
  /** the data stream itself, picture and all, in a file of its own */
  readonly isStream: boolean;
}

export interface OptionList {
  readonly options: readonly CaptureOption[];
  /** why there are none, or why wider ones are missing */
  readonly reasons: readonly Reason[];
  /** more ways than are looked at; the search is then no proof */
  readonly isCut: boolean;
}

const MOST_OPTIONS = 4000;

export function captureOptions(deck: Deck, recorder: Recorder, request: PlanRequest, facts: TapeFacts): OptionList {
  const digital = [...recorderReasons(recorder, facts), ...pairReasons(recorder, deck)];
  const tooLarge: Reason[] = [];
  const sets = new Map<string, CaptureOption>();
  let isCut = false;
  const offer = (draft: Draft) => {
    const option = priceOf(draft, recorder, request, facts);
    if ('code' in option) return tooLarge.push(option);
    const key = `${option.outputs},${option.channels}`;
    const known = sets.get(key);
    if (!known && sets.size >= MOST_OPTIONS) isCut = true;
    else if (!known || option.cost < known.cost) sets.set(key, option);
    return undefined;
  };
  for (const [input, socket] of recorder.inputs.entries()) {
    if (isClockedKind(socket.kind) ? digital.length > 0 : !mayUse(socket, request)) continue;
    // The data stream is a file of its own: nothing else goes into it, and it into nothing else.
    const before: readonly Draft[] = isStreamKind(socket.kind)
      ? [NOTHING]
      : [NOTHING, ...[...sets.values()].filter(({ isStream }) => !isStream)];
    for (const draft of before) for (const next of extended(draft, deck, input, socket, facts)) offer(next);
  }
  const options = undominated([...sets.values()]);
  if (options.length > 0) return { options, reasons: [], isCut };
  return { options, reasons: whyNone(recorder, deck, request, digital, tooLarge), isCut };
}

const NOTHING: Draft = { outputs: 0, channels: 0, links: [] };

interface Draft {
  readonly outputs: number;
  readonly channels: number;
  readonly links: readonly PlannedLink[];
}

function mayUse({ kind }: RecorderInput, { rules }: PlanRequest): boolean {
  return !isAnalogueKind(kind) || rules.analogue;
}

function extended(draft: Draft, deck: Deck, input: number, socket: RecorderInput, facts: TapeFacts): Draft[] {
  return deck.outputs.flatMap((output, index) => {
    if (draft.outputs & (1 << index) || !connectionOf(output.kind, socket.kind)) return [];
    return carried(output, socket.channels, facts.channels).map((channels) => ({
      outputs: draft.outputs | (1 << index),
      channels: draft.channels | maskOf(channels, facts.channels),
      links: [...draft.links, { output: index, input, channels }],
    }));
  });
}

/**
 * What the cable can bring that is wanted, as many channels as the input takes of it, 0 for one that is not used: the file holds all the same.
 * A free output is always filled: one more wanted channel costs nothing.
 */
export function carried(output: DeckOutput, inputs: number, wanted: readonly number[]): (readonly number[])[] {
  const room = Math.min(output.width, inputs);
  const filled = (choice: readonly number[]) => Array.from({ length: room }, (_, at) => choice[at] ?? 0);
  if (output.choices === null) return subsets(wanted, Math.min(room, wanted.length)).map(filled);
  return output.choices.map(filled).filter((choice) => choice.some((one) => wanted.includes(one)));
}

function subsets(list: readonly number[], size: number): number[][] {
  if (size === 0) return [[]];
  return list.flatMap((first, at) => subsets(list.slice(at + 1), size - 1).map((rest) => [first, ...rest]));
}

export function maskOf(channels: readonly number[], wanted: readonly number[]): number {
  return channels.reduce((mask, channel) => {
    const at = wanted.indexOf(channel);
    return at < 0 ? mask : mask | (1 << at);
  }, 0);
}

function priceOf(draft: Draft, recorder: Recorder, request: PlanRequest, facts: TapeFacts): CaptureOption | Reason {
  const isAnalogue = ({ input }: PlannedLink) => isAnalogueKind(recorder.inputs[input].kind);
  const analogue = draft.links.filter(isAnalogue).length;
  const bits = (analogue === draft.links.length ? recorder.bits.at(-1) : wordFor(recorder, facts.bits)) ?? facts.bits;
  const fileChannels = draft.links.reduce((sum, { channels }) => sum + channels.length, 0);
  const isStream = draft.links.some(({ input }) => isStreamKind(recorder.inputs[input].kind));
  const { bytes, splitMinutes } = optionSize({ isStream, fileChannels, bits }, facts, recorder);
  const gigabytes = (bytes / 1e9).toFixed(2);
  const what = isStream ? 'the data stream' : `${fileChannels} channels of ${bits} bits`;
  const words = `${what} for ${facts.minutes} min: ${gigabytes} GB`;
  if (splitMinutes.length > 0 && !recorder.splits) {
    const why = `${words}, and it stops at its file limit after ${splitMinutes[0].toFixed(1)} min`;
    return reason(
      'recorder',
      recorder.name,
      'file-limit',
      why,
      'a recorder that goes on in a next file, or fewer channels in one file',
    );
  }
  if (recorder.storage !== null && bytes > recorder.storage) {
    const why = `${words}, and it holds ${(recorder.storage / 1e9).toFixed(2)} GB`;
    return reason('recorder', recorder.name, 'storage', why, 'a larger store, or fewer channels on this recorder');
  }
  return {
    ...draft,
    ...{ bits, bytes, fileChannels, analogueLinks: analogue, isStream },
    cost: captureCost(request.rules, draft.links.length, bytes, analogue),
  };
}

export function optionSize(
  { isStream, fileChannels, bits }: Pick<CaptureOption, 'isStream' | 'fileChannels' | 'bits'>,
  { system, rate, minutes }: TapeFacts,
  { fileLimit }: Recorder,
): CaptureSize {
  if (isStream) return streamSize(system, minutes, fileLimit);
  return captureSize(fileChannels, bits, rate, minutes, fileLimit);
}

/** Drops every way that another way with the same outputs beats or equals: reading more is never worse. */
function undominated(options: readonly CaptureOption[]): CaptureOption[] {
  return options.filter(
    (one, i) =>
      !options.some(
        (other, k) =>
          k !== i &&
          other.outputs === one.outputs &&
          (other.channels & one.channels) === one.channels &&
          other.cost <= one.cost &&
          (other.channels !== one.channels || other.cost < one.cost || k < i),
      ),
  );
}

function whyNone(
  recorder: Recorder,
  deck: Deck,
  { rules }: PlanRequest,
  digital: readonly Reason[],
  tooLarge: readonly Reason[],
): Reason[] {
  const fits = (socket: RecorderInput) => deck.outputs.some((output) => connectionOf(output.kind, socket.kind));
  const sockets = recorder.inputs.filter(fits);
  if (sockets.length === 0) {
    const kinds = (list: readonly { readonly kind: string }[]) => [...new Set(list.map(({ kind }) => kind))].join(', ');
    const why = `its inputs (${kinds(recorder.inputs)}) take none of the outputs of ${deck.name} (${kinds(deck.outputs)})`;
    return [
      reason(
        'recorder',
        recorder.name,
        'no-connection',
        why,
        'a converter, listed as an output of the deck or an input of the recorder',
      ),
    ];
  }
  const out = [...digital];
  if (!rules.analogue && sockets.every(({ kind }) => isAnalogueKind(kind))) {
    const why = 'only an analogue connection is left, which is never bit-exact and proves no sample';
    out.push(
      reason(
        'recorder',
        recorder.name,
        'analogue',
        why,
        'a digital connection; or set rules.analogue to allow and declare it',
      ),
    );
  }
  return [...out, ...tooLarge.slice(0, 1)];
}
