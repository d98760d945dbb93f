// What one recorder can take from one deck, against every way to plug outputs into inputs, on random sockets of several kinds: nothing that is
// best for its outputs and channels may be missing, and nothing may be cheaper than it is.
import { describe, expect, it } from 'vitest';
import { Random } from '../signal/index.ts';
import type { PlanRequest } from './bench.ts';
import { captureOptions } from './capture-options.ts';
import { connectionOf, isAnalogueKind, isStreamKind } from './connection.ts';
import { captureCost } from './cost.ts';
import { captureSize, streamSize } from './storage.ts';
import { type TapeFacts, tapeFacts } from './tape-facts.ts';
import { deck, freeOutputs, recorder, request } from './testing/benches.ts';

interface Way {
  readonly outputs: number;
  readonly channels: number;
  readonly cost: number;
}

/** Every injective plugging, with every filling of every free output, also senseless ones. Costs from the same tables as the plan's. */
function everyWay({ decks: [own], recorders: [box], rules, tape }: PlanRequest, facts: TapeFacts): Way[] {
  const ways: Way[] = [];
  const plug = (
    at: number,
    outputs: number,
    channels: number,
    width: number,
    cables: number,
    analogue: number,
    streams: number,
  ): void => {
    if (at === box.inputs.length) {
      if (channels === 0 || streams > 1 || (streams === 1 && cables > 1)) return;
      const bits = analogue === cables ? 24 : 16;
      const { bytes } = streams
        ? streamSize(tape.system, facts.minutes, null)
        : captureSize(width, bits, facts.rate, facts.minutes, null);
      ways.push({ outputs, channels, cost: captureCost(rules, cables, bytes, analogue) });
      return;
    }
    plug(at + 1, outputs, channels, width, cables, analogue, streams);
    const socket = box.inputs[at];
    for (const [index, output] of own.outputs.entries()) {
      if ((outputs >> index) & 1 || !connectionOf(output.kind, socket.kind)) continue;
      const room = Math.min(output.width, socket.channels);
      const fillings = output.choices ?? allSets(facts.channels, room);
      for (const filling of fillings) {
        const mask = filling
          .slice(0, room)
          .reduce(
            (all, channel) => all | (facts.channels.includes(channel) ? 1 << facts.channels.indexOf(channel) : 0),
            0,
          );
        if (mask === 0) continue;
        plug(
          at + 1,
          outputs | (1 << index),
          channels | mask,
          width + room,
          cables + 1,
          analogue + Number(isAnalogueKind(socket.kind)),
          streams + Number(isStreamKind(socket.kind)),
        );
      }
    }
  };
  plug(0, 0, 0, 0, 0, 0, 0);
  return ways;
}

function allSets(list: readonly number[], most: number): number[][] {
  return Array.from({ length: 2 ** list.length - 1 }, (_, k) => list.filter((_, at) => ((k + 1) >> at) & 1)).filter(
    (set) => set.length <= most,
  );
}

/** Whether the list has a way with these outputs or fewer, these channels or more, at this cost or less. */
const has = (list: readonly Way[], { outputs, channels, cost }: Way) =>
  list.some((one) => (one.outputs & ~outputs) === 0 && (channels & ~one.channels) === 0 && one.cost <= cost);

describe('ways of one recorder on one deck', () => {
  it('misses none that is best, on 150 random benches', () => {
    const random = new Random(29);
    const pick = <T>(...list: readonly T[]): T => list[Math.floor(random.uniform() * list.length)];
    let most = 0;
    for (let n = 0; n < 150; n++) {
      const channels = pick(2, 3, 4);
      const kinds = pick(['aes3', 'spdif'], ['aes3', 'spdif', 'analogue'], ['aes3', 'dif'], ['aes3']);
      const outputs = Array.from({ length: pick(1, 2, 3) }, (_, i) => {
        const width = pick(1, 2, 2);
        const set = () => [
          ...new Set(Array.from({ length: width }, () => 1 + Math.floor(random.uniform() * channels))),
        ];
        const kind = pick(...kinds);
        const all = Array.from({ length: channels }, (_, c) => c + 1);
        const choices = kind === 'dif' ? [all] : pick(null, null, [set()], [set(), set()]);
        return { name: `out ${i}`, kind, width: kind === 'dif' ? channels : width, choices };
      });
      const inputs = Array.from({ length: pick(1, 2, 3, 3) }, (_, i) => {
        const kind = pick(...kinds);
        return { name: `in ${i}`, kind, channels: kind === 'dif' ? channels : pick(1, 2, 2) };
      });
      const asked = request({
        decks: [deck('d', outputs)],
        recorders: [recorder('r', { inputs })],
        channels,
        rules: { analogue: true },
      });
      const facts = tapeFacts(asked);
      if ('reasons' in facts) throw new Error('no facts');
      const { options, isCut } = captureOptions(asked.decks[0], asked.recorders[0], asked, facts);
      const every = everyWay(asked, facts);
      expect(isCut).toBe(false);
      for (const way of every) expect(has(options, way), JSON.stringify([outputs, inputs, way])).toBe(true);
      for (const option of options) expect(has(every, option), JSON.stringify([outputs, inputs, option])).toBe(true);
      most = Math.max(most, every.length);
    }
    expect(most).toBeGreaterThan(100);
  });

  it('too many ways: full captures are among those that are kept, and it is said that they are not all', () => {
    const inputs = Array.from({ length: 12 }, (_, i) => ({ name: `in ${i}`, kind: 'aes3', channels: 1 }));
    const asked = request({
      decks: [deck('d', freeOutputs(12, 1))],
      recorders: [recorder('r', { inputs })],
      channels: 12,
    });
    const facts = tapeFacts(asked);
    if ('reasons' in facts) throw new Error('no facts');
    const { options, isCut } = captureOptions(asked.decks[0], asked.recorders[0], asked, facts);
    expect(isCut).toBe(true);
    expect(options.some((one) => one.channels === 2 ** 12 - 1)).toBe(true);
  });
});
