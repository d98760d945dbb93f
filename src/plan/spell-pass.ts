// One pass of the plan in names: which output goes into which input, what each file is called and holds. Not for texts.
import type { Deck, PlanRequest, Recorder } from './bench.ts';
import { type CaptureOption, optionSize } from './capture-options.ts';
import { connectionOf, isAnalogueKind } from './connection.ts';
import { MINUTES_PER_CONNECTION } from './cost.ts';
import { isClockedKind, labelHz } from './fit-recorder.ts';
import type { Bench } from './make-plan.ts';
import type { PlanCapture, PlanConnection, PlanPass } from './plan.ts';
import type { RawPass } from './spell-out.ts';
import { sheetChannel, type TapeFacts } from './tape-facts.ts';

export function passOf(
  { programme, route, taken }: RawPass,
  pass: number,
  before: PlanPass | undefined,
  request: PlanRequest,
  facts: TapeFacts,
  { recorders }: Bench,
): PlanPass {
  const used = taken.flatMap((option, r) => (option ? [{ option, recorder: recorders[r], r }] : []));
  const connections = used.flatMap(({ option, recorder }) =>
    connectionsOf(option, recorder, route.deck.name, { programme, route, taken }, facts, before),
  );
  const captures = used.map(({ option, recorder, r }) =>
    captureOf(option, recorder, r, { pass, programme, recorders, deck: route.deck }, facts),
  );
  return {
    ...{ pass, deck: route.deck.name, connections, captures, minutes: facts.minutes },
    programme: facts.programmes.length > 1 || programme > 1 ? programme : null,
    hours: (facts.minutes + request.rules.handlingMinutes + MINUTES_PER_CONNECTION * connections.length) / 60,
  };
}

function connectionsOf(
  option: CaptureOption,
  recorder: Recorder,
  deckName: string,
  { programme, route }: RawPass,
  facts: TapeFacts,
  before: PlanPass | undefined,
): PlanConnection[] {
  return option.links.map((link): PlanConnection => {
    const output = route.deck.outputs[link.output];
    const input = recorder.inputs[link.input];
    const kind = connectionOf(output.kind, input.kind);
    const ends = { output: output.name, recorder: recorder.name, input: input.name };
    const isSame = (one: PlanConnection) =>
      one.output === ends.output && one.recorder === ends.recorder && one.input === ends.input;
    return {
      ...ends,
      ...{ outputKind: output.kind, inputKind: input.kind },
      channels: link.channels.map((channel) => sheetChannelOf(channel, programme, facts)),
      mustBeSet: output.choices === null ? output.width < facts.channelsPerProgramme : output.choices.length > 1,
      cable: kind?.cable ?? '',
      adapter: kind?.adapter ?? null,
      cautions: kind?.cautions ?? [],
      isAnalogue: isAnalogueKind(input.kind),
      isNew: !(before?.deck === deckName && before.connections.some(isSame)),
    };
  });
}

function sheetChannelOf(channel: number, programme: number, facts: TapeFacts): number {
  return facts.channels.includes(channel) ? sheetChannel(facts, programme, channel) : 0;
}

function captureOf(
  option: CaptureOption,
  recorder: Recorder,
  index: number,
  where: {
    readonly pass: number;
    readonly programme: number;
    readonly recorders: readonly Recorder[];
    readonly deck: Deck;
  },
  facts: TapeFacts,
): PlanCapture {
  const all = option.links.flatMap(({ channels }) => channels);
  const channels = all.map((channel) => sheetChannelOf(channel, where.programme, facts));
  return {
    file: `p${where.pass}-${fileWord(index, where.recorders)}.${option.isStream ? 'dv' : 'wav'}`,
    recorder: recorder.name,
    // a channel that comes twice is used once
    channels: channels.map((channel, at) => (channels.indexOf(channel) < at ? 0 : channel)),
    bits: option.bits,
    labelHz: option.isStream ? null : labelHz(recorder, facts),
    size: optionSize(option, facts, recorder),
    clock: clockOf(option, recorder),
    canResample: clockOf(option, recorder) !== 'none' && recorder.resamples === 'switchable',
    starts: recorder.starts,
    timecode: where.deck.timecode && recorder.timecode,
    isAnalogue: option.analogueLinks > 0,
    isStream: option.isStream,
  };
}

function clockOf({ links }: CaptureOption, { inputs, clock }: Recorder): PlanCapture['clock'] {
  const isClocked = links.some(({ input }) => isClockedKind(inputs[input].kind));
  return isClocked && clock !== 'internal' ? clock : 'none';
}

/** The recorder's name as it may stand in a file name everywhere; with its number where two would be alike. */
function fileWord(index: number, recorders: readonly Recorder[]): string {
  const word = ({ name }: Recorder) =>
    name
      .normalize('NFC')
      .toLowerCase()
      .replace(/[^\p{L}\p{N}]+/gu, '-')
      .replace(/^-|-$/g, '')
      .slice(0, 40) || 'recorder';
  const own = word(recorders[index]);
  return recorders.some((other, k) => k !== index && word(other) === own) ? `${own}-${index + 1}` : own;
}
