// What belongs at each place of the sections a plan is made from (wanted, bench, rules), in words for errors. Not the schema.

const SIZE = 'a size, as in 2 GiB, 64 GB or a number of bytes';
const NUMBERS = 'numbers, as in [1, 2, 5] or 1-8';

export const BENCH_EXPECTED: Readonly<Record<string, string>> = {
  wanted: 'what is to be read, as in { channels: 1-8, reads: 2, minutes: 62, condition: fair }',
  'wanted.programmes': `the programmes to be read: ${NUMBERS}; left out: all the format has`,
  'wanted.channels': `the channels of a programme to be read: ${NUMBERS}; left out: all the format has`,
  'wanted.reads': 'how often each channel is to be read, in passes of their own: 1 to 8',
  'wanted.minutes': 'how long one run of the tape takes, in minutes',
  'wanted.speed': 'the speed of the recording as text, as in SP or LP',
  'wanted.condition': 'good, fair or poor',
  'wanted.signs': 'what was seen on the tape, as in [mould, sticky, splice]',
  'wanted.signs.*': 'text',
  bench: 'the equipment, with the keys decks and recorders',
  'bench.decks': 'a list of 1 to 32 decks: without one nothing can be replayed',
  'bench.decks.*': 'a deck, as in { name: bench-1, plays: [eight-track-8mm], outputs: [...] }',
  'bench.decks.*.name': 'the name of the deck as text',
  'bench.decks.*.equipment': 'what it is, in words of your own',
  'bench.decks.*.plays': 'formats or families it can replay, as in [eight-mm-pcm, dv-525]',
  'bench.decks.*.plays.*': 'a format or a family as `tapeproof formats` lists them',
  'bench.decks.*.systems': 'television systems it can replay, as in [525/60, 625/50]',
  'bench.decks.*.systems.*': '525/60 or 625/50',
  'bench.decks.*.speeds': 'speeds it can replay, as in [SP, LP]',
  'bench.decks.*.speeds.*': 'a speed as text',
  'bench.decks.*.outputs': 'a list of 1 to 24 outputs: a deck without one gives nothing out',
  'bench.decks.*.outputs.*': 'an output, as in { name: out 1-2, kind: aes3, channels: [1, 2] }',
  'bench.decks.*.outputs.*.name': 'what is printed beside the socket, as text',
  'bench.decks.*.outputs.*.kind':
    'aes3, aes3id, spdif, optical, analogue, analogue-consumer, dif, or a word of your own that stands on both sides',
  'bench.decks.*.outputs.*.channels': 'the channels it always carries, in order, as in [1, 2]',
  'bench.decks.*.outputs.*.channels.*': 'a channel from 1 on',
  'bench.decks.*.outputs.*.choices': 'the sets of channels it can be switched to, as in [[1, 2], [3, 4]]',
  'bench.decks.*.outputs.*.choices.*': 'a set of channels, as in [1, 2]',
  'bench.decks.*.outputs.*.choices.*.*': 'a channel from 1 on',
  'bench.decks.*.outputs.*.width': 'how many channels one cable carries, where any may be routed to it: 1 to 24',
  'bench.decks.*.timecode': "true where it gives out the tape's own timecode",
  'bench.decks.*.wordclock': 'true where it gives out its word clock',
  'bench.decks.*.wear': 'how hard it is on tapes against an ordinary deck (1), as in 1.3',
  'bench.recorders': 'a list of 1 to 32 recorders: without one nothing can be captured',
  'bench.recorders.*': 'a recorder, as in { name: north, inputs: [{ kind: aes3 }], bits: [16, 24], clock: input }',
  'bench.recorders.*.name': 'the name of the recorder as text',
  'bench.recorders.*.equipment': 'what it is, in words of your own',
  'bench.recorders.*.inputs': 'a list of 1 to 24 inputs: a recorder without one can take nothing',
  'bench.recorders.*.inputs.*': 'an input, as in { name: digital in, kind: aes3, channels: 2 }',
  'bench.recorders.*.inputs.*.name': 'what is printed beside the socket, as text',
  'bench.recorders.*.inputs.*.kind':
    'aes3, aes3id, spdif, optical, analogue, analogue-consumer, dif, or a word of your own that stands on both sides',
  'bench.recorders.*.inputs.*.channels': 'how many channels it takes, 1 to 24',
  'bench.recorders.*.rates': 'rates it takes, as in [44100, 48000] or [30k-50k] where it follows anything between',
  'bench.recorders.*.rates.*': 'a rate, as in 48000 or 44.1k, or a range as in 30k-50k',
  'bench.recorders.*.bits': 'word lengths it can be set to, as in [16, 24]',
  'bench.recorders.*.bits.*': 'a word length in bits, 8 to 32',
  'bench.recorders.*.clock':
    'input (follows its digital input), word (follows a word clock) or internal (follows nothing)',
  'bench.recorders.*.resamples': 'never, switchable or always',
  'bench.recorders.*.limit': `the largest file it writes: ${SIZE}`,
  'bench.recorders.*.splits': 'true where it goes on in a next file at the limit without losing a sample',
  'bench.recorders.*.storage': `room for one pass: ${SIZE}`,
  'bench.recorders.*.timecode': "true where it keeps the tape's timecode with the file",
  'bench.recorders.*.starts': 'a word that recorders share which start together, to the sample',
  rules: 'what the plan must keep to, as in { passes: 8, prefer: proof }',
  'rules.passes': 'the most passes allowed, 1 to 1000',
  'rules.handling': 'minutes of work beside the running time of each pass',
  'rules.prefer': 'wear (spare the tape) or proof (reads on different decks)',
  'rules.join': 'exact (samples or a common start must join the captures), timecode (that is enough) or none',
  'rules.analogue': 'true where connections through converters may be used if nothing digital is left',
  'rules.cost': 'points: { pass: 30, wear: 0.5, hour: 60, gigabyte: 1, deck: 10 }',
  'rules.cost.pass': 'points of one pass, 0 or more',
  'rules.cost.wear': 'points of one minute of tape run, 0 or more',
  'rules.cost.hour': "points of one hour of a person's time, 0 or more",
  'rules.cost.gigabyte': 'points of one gigabyte, 0 or more',
  'rules.cost.deck': 'points per channel and deck that reads fall short of being on different decks, 0 or more',
};

const LISTS: Readonly<Record<string, string>> = {
  decks: 'deck',
  recorders: 'recorder',
  outputs: 'output',
  inputs: 'input',
};

/** "kind of output 2 of deck 1"; a path of other sections in dots. */
export function benchNameOf(path: readonly PropertyKey[]): string {
  const parts: string[] = [];
  let at = path[0] === 'bench' ? 1 : path.length;
  for (; at + 1 < path.length; at += 2) {
    const [list, index] = [LISTS[String(path[at])], path[at + 1]];
    if (!list || typeof index !== 'number') break;
    parts.unshift(`${list} ${index + 1}`);
  }
  if (parts.length === 0) return path.map((part) => (typeof part === 'number' ? part + 1 : String(part))).join('.');
  const rest = path.slice(at).map((part) => (typeof part === 'number' ? part + 1 : String(part)));
  return [...(rest.length > 0 ? [rest.join('.')] : []), ...parts].join(' of ');
}
