// Every useful way in which one recorder can take channels from one deck in a pass: which outputs into which inputs, what it costs.
// Channels here are positions among the wanted channels of one programme, as bits of a mask. Not for choosing among them.
import type { Deck, PlanRequest, Recorder, RecorderInput } from './bench.ts';
import { connectionOf, isAnalogueKind, isStreamKind } from './connection.ts';
import { captureCost } from './cost.ts';
import { carried, hasTooMany, maskOf } from './fillings.ts';
import { isClockedKind, pairReasons, recorderReasons, wordFor } from './fit-recorder.ts';
import { type Reason, reason } from './reason.ts';
import { bitCount } from './search/units.ts';
import { type CaptureSize, captureSize, streamSize } from './storage.ts';
import type { TapeFacts } from './tape-facts.ts';
import { whyNone } from './why-none.ts';

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

/** all sets of twelve outputs are within it */
const MOST_OPTIONS = 4200;
/** ways that are priced for all recorders and decks together; the usual benches need some thousands */
const MOST_DRAFTS = 120_000;
/** and for one recorder on one deck at least */
const LEAST_DRAFTS = 5000;
/** files of one capture; a sheet lists no more (256) */
const MOST_PARTS = 200;
/** of the widest, beside greedy ones, where there are more ways than are looked at */
const KEPT_OF_CUT = 60;

export function captureOptions(deck: Deck, recorder: Recorder, request: PlanRequest, facts: TapeFacts): OptionList {
  const digital = [...recorderReasons(recorder, facts), ...pairReasons(recorder, deck)];
  const usable = [...recorder.inputs.entries()].filter(([, socket]) =>
    isClockedKind(socket.kind) ? digital.length === 0 : mayUse(socket, request),
  );
  const found = everyWay(usable, deck, recorder, request, facts);
  const options = undominated(found.options);
  if (options.length > 0) return { options, reasons: [], isCut: found.isCut };
  return { options, reasons: whyNone(recorder, deck, request, digital, found.tooLarge), isCut: found.isCut };
}

type Socket = readonly [input: number, socket: RecorderInput];

interface Ways {
  readonly options: readonly CaptureOption[];
  readonly tooLarge: readonly Reason[];
  readonly isCut: boolean;
}

function everyWay(
  sockets: readonly Socket[],
  deck: Deck,
  recorder: Recorder,
  request: PlanRequest,
  facts: TapeFacts,
): Ways {
  const tooLarge: Reason[] = [];
  const sets = new Map<string, CaptureOption>();
  let draftsLeft = Math.max(LEAST_DRAFTS, MOST_DRAFTS / (request.decks.length * request.recorders.length));
  let isCut = deck.outputs.some((output) => sockets.some(([, socket]) => hasTooMany(output, socket, facts)));
  const offer = (draft: Draft) => {
    const option = priceOf(draft, recorder, request, facts);
    if ('code' in option) return tooLarge.push(option);
    const key = `${option.outputs},${option.channels}`;
    const known = sets.get(key);
    if (!known && sets.size >= MOST_OPTIONS) isCut = true;
    else if (!known || option.cost < known.cost) sets.set(key, option);
    return undefined;
  };
  for (const [at, socket] of sockets.entries()) {
    for (const draft of draftsBefore(at, sockets, sets)) {
      if (draftsLeft > 0) draftsLeft -= extended(draft, deck, socket, sockets, facts).map(offer).length;
      else isCut = true;
    }
  }
  if (!isCut) return { options: [...sets.values()], tooLarge, isCut };
  const widest = [...sets.values()].sort((a, b) => bitCount(b.channels) - bitCount(a.channels)).slice(0, KEPT_OF_CUT);
  const greedy = greedyDrafts(sockets, deck, facts).flatMap((draft) => {
    const option = priceOf(draft, recorder, request, facts);
    return 'code' in option || draft.links.length === 0 ? [] : [option];
  });
  return { options: [...greedy, ...widest], tooLarge, isCut };
}

/** Drafts that this socket may go on from. Of sockets that are alike the earlier ones are used first: any other order is the same capture. */
function draftsBefore(at: number, sockets: readonly Socket[], sets: ReadonlyMap<string, CaptureOption>): Draft[] {
  const [, socket] = sockets[at];
  // The data stream is a file of its own: nothing else goes into it, and it into nothing else.
  if (isStreamKind(socket.kind)) return [NOTHING];
  const all = [...sets.values()].filter(({ isStream }) => !isStream);
  const twin = at > 0 && isTwin(sockets[at - 1][1], socket) ? sockets[at - 1][0] : null;
  return twin === null ? [NOTHING, ...all] : all.filter(({ links }) => links.at(-1)?.input === twin);
}

function isTwin(a: RecorderInput, b: RecorderInput): boolean {
  return a.kind === b.kind && a.channels === b.channels;
}

/** For benches with more ways than are looked at: full captures, each beginning with another channel. They prove nothing. */
function greedyDrafts(sockets: readonly Socket[], deck: Deck, facts: TapeFacts): Draft[] {
  return facts.channels.map((_, first) => {
    let draft = NOTHING;
    for (const socket of sockets.filter(([, { kind }]) => !isStreamKind(kind))) {
      const ways = extended(draft, deck, socket, [], facts);
      const rank = ({ channels }: Draft) => {
        const fresh = channels & ~draft.channels;
        const nearest = facts.channels.findIndex((_, k) => (fresh >> ((first + k) % facts.channels.length)) & 1);
        return bitCount(fresh) * 100 - nearest;
      };
      draft = ways.reduce((best, way) => (best === draft || rank(way) > rank(best) ? way : best), draft);
    }
    return draft;
  });
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

/**
 * The draft with one cable more. Only what brings a channel more: a channel that comes twice in one capture costs a cable and proves nothing. A
 * free output is filled with channels that are not there yet: any other filling of it brings no more and costs the same.
 */
function extended(
  draft: Draft,
  deck: Deck,
  [input, socket]: Socket,
  sockets: readonly Socket[],
  facts: TapeFacts,
): Draft[] {
  const left = facts.channels.filter((_, at) => !((draft.channels >> at) & 1));
  // Into sockets that are alike the outputs go in order: any other order is the same capture.
  const last = draft.links.at(-1);
  const before = last && sockets.find(([index]) => index === last.input);
  const from = last && before && isTwin(before[1], socket) ? last.output + 1 : 0;
  return deck.outputs.flatMap((output, index) => {
    if (index < from || draft.outputs & (1 << index) || !connectionOf(output.kind, socket.kind)) return [];
    return carried(output, socket.channels, left).map((channels) => ({
      outputs: draft.outputs | (1 << index),
      channels: draft.channels | maskOf(channels, facts.channels),
      links: [...draft.links, { output: index, input, channels }],
    }));
  });
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
  if (splitMinutes.length >= MOST_PARTS) {
    const why = `${words}, in more than ${MOST_PARTS} files at its limit`;
    return reason('recorder', recorder.name, 'file-limit', why, 'a larger limit: few recorders write files so small');
  }
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
