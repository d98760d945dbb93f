// What a plan is made of beside its cost: what is ruled out and why, what joins captures, order, names of files, numbers of channels.
import { describe, expect, it } from 'vitest';
import { rate } from '../base/index.ts';
import { makePlan, type Plan, type PlanRequest, type Reason } from './index.ts';
import { GIB } from './storage.ts';
import { deck, freeOutputs, pairOutputs, recorder, recorders, request } from './testing/benches.ts';

function planOf(asked: PlanRequest): Plan {
  const plan = makePlan(asked);
  if ('reasons' in plan) throw new Error(plan.reasons.map(({ why }) => why).join('; '));
  return plan;
}

function reasonsOf(asked: PlanRequest): readonly Reason[] {
  const plan = makePlan(asked);
  return 'reasons' in plan ? plan.reasons : plan.ruledOut;
}

const ONE_DECK = [deck('bench-1', freeOutputs(2))];

describe('recorders that are ruled out', () => {
  it.each([
    ['cannot-lock', { clock: 'internal' }, /every 2\.1 s/],
    ['cannot-lock', { clock: 'word' }, /bench-1 gives none out/],
    ['word-too-short', { bits: [8] }, /8 bits, the tape gives 16/],
    ['resamples', { resamples: 'always' }, /resample/],
    ['rate', { rates: [{ lowHz: 44_100, highHz: 44_100 }] }, /takes 44100 Hz, the tape gives 48000 Hz/],
    ['file-limit', { fileLimit: GIB, splits: false }, /stops at its file limit after 93\.2 min/],
    ['storage', { storage: 1e9 }, /holds 1\.00 GB/],
    ['no-connection', { inputs: [{ name: 'in', kind: 'dif', channels: 2 }] }, /\(dif\) take none.*\(aes3\)/],
  ] as const)('%s', (code, more, why) => {
    const odd = recorder('odd', more);
    const plan = planOf(request({ decks: ONE_DECK, recorders: [odd, recorder('sound')] }));
    expect(plan.ruledOut).toMatchObject([{ about: 'recorder', name: 'odd', code, why: expect.stringMatching(why) }]);
    expect(plan.ruledOut[0].help).not.toBe('');
    expect(plan.passes.every(({ captures }) => captures.every(({ recorder: name }) => name === 'sound'))).toBe(true);
  });

  it.each([
    ['eight-mm-pcm-525', [32_000, 44_100, 48_000], true],
    ['eight-mm-pcm-625', [32_000, 44_100, 48_000], true],
    ['pcm-adaptor-525', [44_100], true],
    ['pcm-adaptor-625', [44_100], false],
  ])('%s on a recorder of plain rates', (format, hz, isOut) => {
    const rates = hz.map((one) => ({ lowHz: one, highHz: one }));
    const decks = [deck('d', [{ name: 'main', kind: 'aes3', width: 2, choices: [[1, 2]] }])];
    const asked = (more: typeof rates) => request({ decks, recorders: [recorder('r', { rates: more })], format });
    expect(reasonsOf(asked(rates)).some(({ code }) => code === 'rate')).toBe(isOut);
    expect(reasonsOf(asked([{ lowHz: 30_000, highHz: 50_000 }]))).toEqual([]);
  });

  it('a recorder that can be used: the inputs and decks that it cannot be used with', () => {
    const inputs = [
      { name: 'digital', kind: 'aes3', channels: 2 },
      { name: 'line', kind: 'analogue', channels: 2 },
      { name: 'light', kind: 'own light', channels: 2 },
    ];
    const outputs = [...freeOutputs(1), { name: 'monitor', kind: 'analogue', width: 2, choices: null }];
    const decks = [deck('clocked', outputs, { wordClock: true }), deck('plain', outputs)];
    const plan = planOf(request({ decks, recorders: [recorder('r', { inputs, clock: 'word' })], channels: 2 }));
    expect(plan.ruledOut.map(({ name, code, why }) => [name, code, why])).toEqual([
      ['r', 'cannot-lock', 'not on plain: follows only a word clock, and plain gives none out'],
      ['r', 'analogue', expect.stringMatching(/its input line is analogue/)],
      ['r', 'no-connection', expect.stringMatching(/its input light \(own light\) fits no output/)],
      ['plain', 'no-connection', 'no recorder can take its outputs'],
    ]);
  });

  it('analogue is refused unless the rules allow it, and dear then', () => {
    const decks = [deck('d', [{ name: 'line', kind: 'analogue', width: 2, choices: null }])];
    const list = [recorder('r', { inputs: [{ name: 'line', kind: 'analogue-consumer', channels: 2 }] })];
    const asked = request({ decks, recorders: list, channels: 2, reads: 1 });
    expect(reasonsOf(asked).map(({ code }) => code)).toContain('analogue');
    const plan = planOf({ ...asked, rules: { ...asked.rules, analogue: true } });
    expect(plan.passes[0].captures[0]).toMatchObject({ isAnalogue: true, bits: 24 });
    expect(plan.cost.points.analogue).toBe(1000);
  });

  it('decks of another format, system or speed', () => {
    const decks = [
      deck('other format', pairOutputs(1), { plays: ['dat'] }),
      deck('other system', pairOutputs(1), { systems: ['525/60'] }),
      deck('other speed', pairOutputs(1), { speeds: ['SP'] }),
      deck('right', pairOutputs(1), { plays: ['eight-mm-pcm'], systems: ['625/50'], speeds: ['SP', 'lp'] }),
    ];
    const asked = request({ decks, recorders: [recorder('r')], format: 'eight-mm-pcm-625', wanted: { speed: 'LP' } });
    const plan = planOf(asked);
    expect(plan.ruledOut.map(({ name, code }) => [name, code])).toEqual([
      ['other format', 'wrong-format'],
      ['other system', 'wrong-system'],
      ['other speed', 'wrong-speed'],
    ]);
    expect(plan.decks).toEqual([{ deck: 'right', passes: 2 }]);
  });
});

describe('impossible benches name every reason', () => {
  it('nothing fits', () => {
    const list = [recorder('a', { clock: 'internal', bits: [8] }), recorder('b', { resamples: 'always' })];
    const reasons = reasonsOf(
      request({
        decks: [deck('x', freeOutputs(1), { plays: ['dat'] }), ...ONE_DECK],
        recorders: list,
        format: 'eight-track-8mm',
      }),
    );
    expect(reasons.map(({ name, code }) => `${name} ${code}`.trim())).toEqual([
      'x wrong-format',
      'a word-too-short',
      'a cannot-lock',
      'b resamples',
      'bench-1 no-connection',
      'channel-unreachable',
    ]);
  });

  it('too few passes: how many would do', () => {
    const asked = request({ decks: ONE_DECK, recorders: [recorder('r')], reads: 2, rules: { passes: 3 } });
    expect(reasonsOf(asked)).toMatchObject([
      { code: 'too-many-passes', why: 'at least 8 passes are needed, and the rules allow 3' },
    ]);
  });

  it('a channel that no output carries; length and rate that nobody gave', () => {
    const asked = request({ decks: [deck('d', pairOutputs(2))], recorders: [recorder('r')] });
    expect(reasonsOf(asked)).toMatchObject([
      { code: 'channel-unreachable', why: expect.stringContaining('channel 5, 6, 7, 8') },
    ]);
    const bare = { ...asked, tape: { ...asked.tape, rate: null }, wanted: { ...asked.wanted, minutes: null } };
    expect(reasonsOf(bare).map(({ code }) => code)).toEqual(['unknown-rate', 'unknown-length']);
  });

  it('channels and programmes a format does not have', () => {
    const asked = request({
      decks: ONE_DECK,
      recorders: [recorder('r')],
      format: 'dat-48k',
      channels: 4,
      programmes: 2,
    });
    expect(reasonsOf(asked).map(({ code }) => code)).toEqual(['no-such-channel', 'no-such-channel']);
  });
});

describe('what joins the captures', () => {
  it('a channel in common, where outputs can be set', () => {
    const plan = planOf(request({ decks: ONE_DECK, recorders: recorders(2), reads: 1 }));
    expect(plan.groups).toHaveLength(1);
    const captures = plan.passes.flatMap((pass) => pass.captures);
    expect(plan.links).toHaveLength(captures.length - 1);
    for (const { file, to, by, channels } of plan.links) {
      expect(by).toBe('channel');
      const held = [file, to].map((name) => captures.find((one) => one.file === name)?.channels ?? []);
      for (const channel of channels) expect(held.every((list) => list.includes(channel))).toBe(true);
    }
  });

  it('nothing, where pairs are fixed and every recorder takes one pair', () => {
    const plan = planOf(request({ decks: [deck('d', pairOutputs(4))], recorders: recorders(4), reads: 2 }));
    expect(plan.groups.map(({ channels }) => channels)).toEqual([
      [1, 2],
      [3, 4],
      [5, 6],
      [7, 8],
    ]);
  });

  it('a common start, or the timecode where it is enough', () => {
    const linked = planOf(
      request({ decks: [deck('d', pairOutputs(4))], recorders: recorders(4, { starts: 'rack' }), reads: 2 }),
    );
    expect(linked.groups).toHaveLength(1);
    expect(linked.links.filter(({ by }) => by === 'start')).toHaveLength(3);
    const withCode = request({
      decks: [deck('d', pairOutputs(4), { timecode: true })],
      recorders: recorders(4, { timecode: true }),
    });
    const coded = planOf({ ...withCode, rules: { ...withCode.rules, join: 'timecode' } });
    expect([coded.groups.length, coded.timecodeGroups.length]).toEqual([4, 1]);
  });

  it('a pass is spent on joining only when the rules want it', () => {
    const asked = request({ decks: ONE_DECK, recorders: recorders(2), reads: 1 });
    const free = planOf({ ...asked, rules: { ...asked.rules, join: 'none' } });
    expect([planOf(asked).passes.length, free.passes.length]).toEqual([4, 2]);
    const limited = planOf({ ...asked, rules: { ...asked.rules, passes: 3 } });
    expect([limited.passes.length, limited.groups.length]).toEqual([3, 2]);
  });
});

describe('the passes', () => {
  it('reads of a channel come from different passes and, where there are two, different decks', () => {
    const plan = planOf(request({ decks: [...ONE_DECK, deck('bench-2', freeOutputs(2))], recorders: recorders(2) }));
    for (const { passes, decks } of plan.reads) {
      expect(new Set(passes).size).toBeGreaterThanOrEqual(2);
      expect(decks).toHaveLength(2);
    }
    expect(plan.cost.parts.sameDeck).toBe(0);
  });

  it('programmes: each once before any twice; channels are numbered through', () => {
    const decks = [deck('d', [{ name: 'main', kind: 'aes3', width: 2, choices: [[1, 2]] }])];
    const plan = planOf(
      request({ decks, recorders: [recorder('r')], format: 'eight-mm-six-programmes-625', reads: 2 }),
    );
    expect(plan.passes.map(({ programme }) => programme)).toEqual([1, 2, 3, 4, 5, 6, 1, 2, 3, 4, 5, 6]);
    expect(plan.passes[5].captures[0].channels).toEqual([11, 12]);
    expect(plan.groups).toHaveLength(6);
  });

  it('a limit on passes is shared out among the programmes', () => {
    const decks = [deck('d', [{ name: 'main', kind: 'aes3', width: 2, choices: [[1, 2]] }])];
    const asked = request({
      decks,
      recorders: [recorder('r')],
      format: 'eight-mm-six-programmes-625',
      reads: 2,
      rules: { passes: 11 },
    });
    expect(reasonsOf(asked)).toMatchObject([{ why: 'at least 12 passes are needed, and the rules allow 11' }]);
  });

  it('files are named after pass and recorder, alike names told apart, unwanted channels marked 0', () => {
    const list = [recorder('Ost/Gerät'), recorder('ost gerät')];
    const plan = planOf(request({ decks: [deck('d', pairOutputs(2))], recorders: list, channels: 3, reads: 1 }));
    expect(plan.passes[0].captures.map(({ file, channels }) => [file, channels])).toEqual([
      ['p1-ost-gerät-1.wav', [1, 2]],
      ['p1-ost-gerät-2.wav', [3, 0]],
    ]);
  });

  it('the header of the file is foretold where the recorder names one rate', () => {
    const rates = [{ lowHz: 44_100, highHz: 44_100 }];
    const asked = request({ decks: ONE_DECK, recorders: [recorder('r', { rates })], channels: 2 });
    const plan = planOf({ ...asked, tape: { ...asked.tape, rate: rate(44_100) } });
    expect(plan.passes[0].captures[0].labelHz).toBe(44_100);
  });
});
