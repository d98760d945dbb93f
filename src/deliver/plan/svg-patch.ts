// The connections of one pass as a drawing: the deck and its outputs to the left, recorders and their inputs to the right, a line per cable
// with its letter and channels. States differ by line and letter, never by colour alone. The same stands in the table beside it.
import { coordinate, el, type Markup } from '../markup.ts';
import { box, drawingOf, label } from '../svg-frame.ts';
import type { PatchCable, PatchSheet } from './patch-sheet.ts';
import { channelText } from './plan-words.ts';

const WIDTH = 960;
const DECK = { left: 10, right: 300 };
const RECORDER = { left: 640, right: 950 };
const ROW = 40;
const HEAD = 46;
const GAP = 22;

interface Socket {
  readonly cable: PatchCable;
  readonly y: number;
}

interface Place {
  readonly name: string;
  readonly file: string;
  readonly top: number;
  readonly height: number;
  readonly inputs: readonly Socket[];
}

export function patchDrawing(sheet: PatchSheet, deck: string): Markup {
  const places = placesOf(sheet);
  const last = places.at(-1);
  const height = (last ? last.top + last.height : HEAD) + 10;
  const deckHeight = HEAD + sheet.cables.length * ROW;
  const deckTop = Math.max(10, (height - deckHeight) / 2);
  const outputs = new Map(sheet.cables.map((cable, i) => [cable.letter, deckTop + HEAD + i * ROW + ROW / 2]));
  const lines = places.flatMap(({ inputs }) =>
    inputs.map(({ cable, y }) => cableLine(cable, outputs.get(cable.letter) ?? 0, y)),
  );
  const words = sheet.cables.map(
    ({ letter, connection: one }) =>
      `${letter}: ${one.output} to ${one.recorder} ${one.input}, channels ${channelText(one.channels)}`,
  );
  return drawingOf(
    WIDTH,
    `patch-${sheet.pass}`,
    `Connections of pass ${sheet.pass}`,
    `${words.join('; ')}. ${sheet.clock}`,
    Math.max(height, deckTop + deckHeight + 10),
    machine(DECK.left, deckTop, DECK.right, deckHeight, shortened(deck, 34), 'deck, clock master'),
    ...sheet.cables.map(({ letter, connection }) =>
      socketName(DECK.right - 12, outputs.get(letter) ?? 0, connection.output, connection.outputKind, 'end'),
    ),
    ...places.flatMap(({ name, file, top, height: tall, inputs }) => [
      machine(RECORDER.left, top, RECORDER.right, tall, shortened(name, 34), file),
      ...inputs.map(({ cable, y }) =>
        socketName(RECORDER.left + 12, y, cable.connection.input, cable.connection.inputKind, 'start'),
      ),
    ]),
    ...lines,
  );
}

/** Recorders under each other, each with its inputs in the order of the cables. */
function placesOf({ cables, captures }: PatchSheet): Place[] {
  const places: Place[] = [];
  let top = 10;
  for (const { recorder, file, bits, isStream } of captures) {
    const own = cables.filter(({ connection }) => connection.recorder === recorder);
    const height = HEAD + own.length * ROW;
    const from = top;
    const inputs = own.map((cable, i) => ({ cable, y: from + HEAD + i * ROW + ROW / 2 }));
    places.push({ name: recorder, file: `${file}${isStream ? '' : `, ${bits} bit`}`, top, height, inputs });
    top += height + GAP;
  }
  return places;
}

function machine(left: number, top: number, right: number, height: number, name: string, role: string): Markup {
  return el(
    'g',
    {},
    box(left, top, right - left, height, 'machine'),
    el('text', { x: coordinate(left + 12), y: coordinate(top + 19), class: 'machine-name' }, name),
    label(left + 12, top + 35, shortened(role, 44)),
  );
}

function socketName(x: number, y: number, name: string, kind: string, anchor: 'start' | 'end'): Markup {
  const text = name === kind ? name : `${shortened(name, 22)} (${shortened(kind, 18)})`;
  return el('text', { x: coordinate(x), y: coordinate(y + 4), 'text-anchor': anchor, class: 'socket-name' }, text);
}

/** A cable that stays is thin, one through converters dashed, the data stream dotted; an adapter is a box with its letter in a frame. */
function cableLine({ letter, connection }: PatchCable, from: number, to: number): Markup {
  const [x1, x2] = [DECK.right, RECORDER.left];
  const kind = connection.isAnalogue ? ' analogue' : connection.outputKind === 'dif' ? ' stream' : '';
  const path = `M${x1} ${coordinate(from)}C${x1 + 210} ${coordinate(from)} ${x2 - 150} ${coordinate(to)} ${x2} ${coordinate(to)}`;
  const channels = channelText(connection.channels);
  return el(
    'g',
    {},
    el('path', { d: path, class: `cable${connection.isNew ? '' : ' stays'}${kind}` }),
    el('circle', { cx: x1, cy: coordinate(from), r: 5, class: 'plug' }),
    el('circle', { cx: x2, cy: coordinate(to), r: 5, class: 'plug' }),
    el('text', { x: x1 + 12, y: coordinate(from - 7), class: 'cable-name over' }, `${letter}: channels ${channels}`),
    connection.adapter === null
      ? null
      : el(
          'g',
          {},
          box(x2 - 96, to - 11, 82, 22, 'adapter'),
          el(
            'text',
            { x: x2 - 55, y: coordinate(to + 4), 'text-anchor': 'middle', class: 'cable-name' },
            `adapter ${letter}`,
          ),
        ),
  );
}

function shortened(text: string, most: number): string {
  return text.length <= most ? text : `${text.slice(0, most - 1)}\u2026`;
}

export const PATCH_STYLE = `
.machine { fill: var(--panel); stroke: var(--soft); stroke-width: 1; } svg .machine-name { font-size: 15px; font-weight: 600; fill: var(--ink); }
svg .socket-name, svg .cable-name { font-size: 13px; fill: var(--ink); }
svg .over { paint-order: stroke; stroke: var(--paper); stroke-width: 5px; stroke-linejoin: round; }
.cable { fill: none; stroke: var(--blue); stroke-width: 3.5; } .cable.stays { stroke-width: 1.5; }
.cable.analogue { stroke: var(--ochre); stroke-dasharray: 9 5; } .cable.stream { stroke: var(--plum); stroke-dasharray: 2 4; }
.plug { fill: var(--paper); stroke: var(--ink); stroke-width: 1.8; } .adapter { fill: var(--paper); stroke: var(--ink); stroke-width: 1.2; }
.sheet { border-top: 3px double var(--rule); margin-top: 3rem; } .sheet > h2 { border-top: 0; }
ul.tasks { list-style: none; padding: 0; margin: .3rem 0; max-width: 56rem; } ul.tasks li { max-width: 56rem; padding: .12rem 0; }
ul.tasks label { display: grid; grid-template-columns: 1.5rem 1fr; } ul.tasks input { width: 1rem; height: 1rem; margin: .25rem 0 0; accent-color: var(--blue); }
p.caution { border-left: 4px solid var(--ochre); padding-left: .7rem; margin: .4rem 0; max-width: 56rem; }
p.caution::before { content: "Caution. "; font-weight: 600; }
.fields { display: grid; grid-template-columns: 1fr 1fr; gap: .5rem 2rem; padding: 0; list-style: none; max-width: none; }
.fields li { border-bottom: 1px solid var(--soft); min-height: 3.4rem; max-width: none; font-size: .85rem; color: var(--soft); break-inside: avoid; }
@media print { .sheet { break-before: page; border-top: 0; margin-top: 0; padding-top: 0; } .sheet > h2 { margin-top: 0; }
  p, li, ul.tasks, ul.tasks li, p.caution { max-width: none; } h3 { margin-top: .8rem; } .step { break-inside: avoid; } p.caution { margin: .2rem 0; } }
`;
