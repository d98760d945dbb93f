// Whether a deck can replay the tape at all, by what the sheet says of both. Not for how well: that shows in the reads.
import type { Deck, PlanRequest } from './bench.ts';
import { type Reason, reason } from './reason.ts';
import type { TapeFacts } from './tape-facts.ts';

/** Every reason against the deck; empty when it can be used. */
export function deckReasons(deck: Deck, { tape, wanted }: PlanRequest, facts: TapeFacts): Reason[] {
  const against = (code: Reason['code'], why: string, help: string) => reason('deck', deck.name, code, why, help);
  const out: Reason[] = [];
  const { format } = tape;
  if (format && deck.plays && !deck.plays.some((name) => covers(name, format.id, format.family))) {
    const why = `plays ${deck.plays.join(', ')}, the tape is ${format.id}`;
    out.push(against('wrong-format', why, `a deck that plays ${format.id}`));
  }
  const system = format?.system ?? tape.system;
  if (system && deck.systems && !deck.systems.includes(system)) {
    const why = `plays ${deck.systems.join(' and ')}, the tape is ${system}`;
    out.push(against('wrong-system', why, `a deck for ${system}, or one for both systems`));
  }
  const speed = wanted.speed?.toLowerCase();
  if (speed && deck.speeds && !deck.speeds.some((one) => one.toLowerCase() === speed)) {
    const why = `plays ${deck.speeds.join(', ')}, the tape was recorded at ${wanted.speed}`;
    out.push(against('wrong-speed', why, `a deck that plays ${wanted.speed}`));
  }
  const carries = deck.outputs.some(
    ({ choices }) => choices === null || choices.some((choice) => choice.some((one) => facts.channels.includes(one))),
  );
  if (!carries) {
    out.push(
      against('no-wanted-channel', 'no output carries a wanted channel', 'list its outputs with their channels'),
    );
  }
  return out;
}

/** A format id, a family, or the beginning of ids. */
function covers(name: string, id: string, family: string): boolean {
  const wanted = name.trim().toLowerCase();
  return wanted === id || wanted === family || id.startsWith(`${wanted}-`);
}
