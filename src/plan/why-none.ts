// Why a recorder takes nothing from a deck, and why an input of a recorder that is of use is not. Words for the user, nothing that is searched.
import type { Deck, PlanRequest, Recorder, RecorderInput } from './bench.ts';
import { connectionOf, isAnalogueKind } from './connection.ts';
import { isClockedKind, recorderReasons } from './fit-recorder.ts';
import { type Reason, reason } from './reason.ts';
import type { TapeFacts } from './tape-facts.ts';

export function whyNone(
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

/** Of a recorder that can be used: the inputs that cannot. */
export function inputReasons(
  recorder: Recorder,
  decks: readonly Deck[],
  { rules }: PlanRequest,
  facts: TapeFacts,
): Reason[] {
  const digital = recorderReasons(recorder, facts);
  return recorder.inputs.flatMap(({ name, kind }) => {
    const against = (code: Reason['code'], why: string, help: string) =>
      reason('recorder', recorder.name, code, `its input ${name} ${why}`, help);
    if (!decks.some(({ outputs }) => outputs.some((output) => connectionOf(output.kind, kind)))) {
      return [
        against(
          'no-connection',
          `(${kind}) fits no output of a deck that can be used`,
          'a converter, listed as an output or an input',
        ),
      ];
    }
    if (isAnalogueKind(kind)) {
      if (rules.analogue) return [];
      return [
        against(
          'analogue',
          'is analogue, which is never bit-exact and proves no sample',
          'rules.analogue, to allow and declare it',
        ),
      ];
    }
    return isClockedKind(kind) ? digital.map(({ code, why, help }) => against(code, `is out: it ${why}`, help)) : [];
  });
}
