import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { TapeproofError } from '../base/index.ts';
import type { ReconcileCapture } from '../reconcile/index.ts';
import { outcomeOf } from '../reconcile/testing/outcome.ts';
import { alignmentOf, captureOf, damaged, noise, randomBurst, seeded } from '../reconcile/testing/reads.ts';
import { randomTransfer } from '../reconcile/testing/transfer.ts';
import { buildEditList } from './build-edit-list.ts';
import type { EditList, EditSource } from './edit-list.ts';
import { renderEditList } from './render-edit-list.ts';
import { validateEditList } from './validate-edit-list.ts';

const DIGEST = 'ab'.repeat(32);

function sourcesOf(captures: readonly ReconcileCapture[]): EditSource[] {
  return captures.map(({ source: { info } }, i) => ({
    path: `${i}-${info.name}`,
    sha256: DIGEST,
    audioSha256: DIGEST,
    frames: info.frames,
    channels: info.channels,
    bits: info.bits,
  }));
}

async function render(list: EditList, captures: readonly ReconcileCapture[], blockFrames?: number) {
  const planes = list.channels.map(() => new Int32Array(list.frames));
  const sources = captures.map((c) => c.source);
  for await (const block of renderEditList(list, sources, blockFrames === undefined ? {} : { blockFrames })) {
    for (const [c, plane] of block.planes.entries()) planes[c].set(plane, block.start);
  }
  return planes;
}

async function listOf(captures: readonly ReconcileCapture[], alignment = alignmentOf(captures)) {
  const outcome = await outcomeOf(captures, alignment);
  const sources = sourcesOf(captures);
  const list = buildEditList({ tape: 'T-1' }, sources, outcome.plan, outcome.runs, alignment, captures, DIGEST);
  return { list, outcome };
}

describe('the edit list', () => {
  test('renders the identical master from its JSON, whatever the transfer and the block size', async () => {
    await fc.assert(
      fc.asyncProperty(
        fc.integer({ min: 1, max: 1e9 }),
        fc.constantFrom(7, 1000, 65_536),
        async (seed, blockFrames) => {
          const { captures, alignment } = randomTransfer(seed);
          const { list, outcome } = await listOf(captures, alignment);
          const again = validateEditList(JSON.parse(JSON.stringify(list)));
          expect(again).toEqual(list);
          expect(await render(again, captures, blockFrames)).toEqual(outcome.planes);
        },
      ),
      { numRuns: 60, seed: 3 },
    );
  });

  test('does not splinter: a lattice healed from another read is one piece', async () => {
    const truth = noise(seeded(4), 3000, 3000);
    const lattice = { start: 1000, length: 200, period: 2, lost: 1, mechanism: 'mean' } as const;
    const { list } = await listOf(
      [1, 2].map((pass) => captureOf({ pass, planes: [pass === 1 ? damaged(truth, [lattice]) : truth] })),
    );
    expect(list.channels[0].pieces).toEqual([
      { start: 0, length: 1000, source: 0, fileChannel: 1, from: 0 },
      { start: 1000, length: 2000, source: 1, fileChannel: 1, from: 1000 },
    ]);
  });

  test('splits where a slip moves the place in the file, with silence in the hole', async () => {
    const captures = [captureOf({ pass: 1, planes: [noise(seeded(4), 300, 3000)] })];
    const segments = [
      { start: 0, length: 100, offset: 20 },
      { start: 100, length: 200, offset: 30 },
    ];
    const { list } = await listOf(captures, alignmentOf(captures, [{ segments }]));
    expect(list.channels[0].pieces).toEqual([
      { start: 0, length: 100, source: 0, fileChannel: 1, from: 0 },
      { start: 100, length: 10, source: null, fileChannel: 0, from: 0 },
      { start: 110, length: 200, source: 0, fileChannel: 1, from: 100 },
    ]);
  });

  test('is frozen all the way down', async () => {
    const { list } = await listOf([captureOf({ pass: 1, planes: [noise(seeded(4), 30, 30)] })]);
    expect([list, list.sources[0], list.channels[0].pieces, list.channels[0].pieces[0]].every(Object.isFrozen)).toBe(
      true,
    );
  });

  test('is refused for files that are not the captures, and rendering refuses other files', async () => {
    const random = seeded(6);
    const truth = noise(random, 500, 300);
    const captures = [1, 2].map((pass) => captureOf({ pass, planes: [damaged(truth, [randomBurst(random, 500, 9)])] }));
    const { list, outcome } = await listOf(captures);
    const wrong = sourcesOf(captures).map((s) => ({ ...s, frames: s.frames + 1 }));
    expect(() =>
      buildEditList({ tape: '' }, wrong, outcome.plan, outcome.runs, alignmentOf(captures), captures, DIGEST),
    ).toThrow(TapeproofError);
    const other = [captures[0], captureOf({ pass: 2, planes: [truth.subarray(0, 499)] })];
    await expect(render(list, other)).rejects.toThrow(/not the file the edit list was made from/);
    await expect(render(list, captures.slice(0, 1))).rejects.toThrow(/not the file/);
  });
});

describe('an edit list from outside', () => {
  const good = {
    schema: 'tapeproof/edit-list@1',
    tape: 'T-1',
    rate: { num: 48000, den: 1 },
    bits: 24,
    frames: 10,
    sources: [{ path: 'a.wav', sha256: DIGEST, audioSha256: DIGEST, frames: 8, channels: 2, bits: 24 }],
    channels: [
      {
        channel: 1,
        pieces: [
          { start: 0, length: 2, source: null, fileChannel: 0, from: 0 },
          { start: 2, length: 8, source: 0, fileChannel: 2, from: 0 },
        ],
      },
    ],
    audioSha256: DIGEST,
  };

  test('is taken when it is whole, and frozen', () => {
    const list = validateEditList(good);
    expect(list).toEqual(good);
    expect(Object.isFrozen(list.channels[0].pieces[1])).toBe(true);
  });

  const DAMAGED: readonly (readonly [path: string, value: unknown, message: string])[] = [
    ['schema', 'tapeproof/edit-list@2', '$.schema'],
    ['tape', 5, '$.tape'],
    ['rate.den', 0, '$.rate.den'],
    ['bits', 33, '$.bits'],
    ['frames', 11, '$.channels[0].pieces'],
    ['frames', 1.5, '$.frames'],
    ['sources', {}, '$.sources'],
    ['sources.0.sha256', 'xyz', '$.sources[0].sha256'],
    ['sources.0.frames', 7, '$.channels[0].pieces[1].from'],
    ['bits', 16, '$.channels[0].pieces[1].source'],
    ['channels.0.channel', 0, '$.channels[0].channel'],
    ['channels.1', good.channels[0], '$.channels[1].channel'],
    ['channels.0.pieces.1.start', 3, '$.channels[0].pieces[1].start'],
    ['channels.0.pieces.1.length', 0, '$.channels[0].pieces[1].length'],
    ['channels.0.pieces.1.source', 1, '$.channels[0].pieces[1].source'],
    ['channels.0.pieces.1.fileChannel', 3, '$.channels[0].pieces[1].fileChannel'],
    ['channels.0.pieces.1.from', -1, '$.channels[0].pieces[1].from'],
    ['audioSha256', DIGEST.toUpperCase(), '$.audioSha256'],
  ];

  test.each(DAMAGED)('with %s = %j is refused at its place', (path, value, place) => {
    const damagedList = structuredClone(good) as unknown as Record<string, unknown>;
    const keys = path.split('.');
    const last = keys.pop() ?? '';
    const target = keys.reduce((node, key) => node[key] as Record<string, unknown>, damagedList);
    target[last] = value;
    expect(() => validateEditList(damagedList)).toThrow(`edit list: ${place} is wrong`);
  });

  test.each([null, 5, 'text', [], {}, { ...good, channels: [null] }])(
    'that is no such document (%j) is refused',
    (json) => {
      expect(() => validateEditList(json)).toThrow(TapeproofError);
    },
  );
});
