// Which samples of a DV frame one lost head or one lost track takes with it (placement of IEC 61834-2, formats sheet 4.3 and 4.8).
import type { LossPattern, LossStream } from '../loss-pattern.ts';
import { runsOf } from '../loss-pattern.ts';

type Channels = readonly number[];
type Row = readonly [id: string, label: string, frames: readonly (readonly [first: string, second: string])[]];

const NARROW: Readonly<Record<'525' | '625', readonly Row[]>> = {
  525: [
    ['even-track-head', 'head of the even tracks lost', [['xxx..', '...xx']]],
    ['odd-track-head', 'head of the odd tracks lost', [['...xx', 'xxx..']]],
  ],
  625: [
    ['even-track-head', 'head of the even tracks lost', [['xxx...', 'xxx...']]],
    ['odd-track-head', 'head of the odd tracks lost', [['...xxx', '...xxx']]],
  ],
};

/** Scan i is taken to hold tracks 2i and 2i + 1 ("two consecutive sub-tracks", order from memory). Five scans: heads swap each frame. */
const EIGHT_MM: Readonly<Record<'525' | '625', readonly Row[]>> = {
  525: [
    [
      'scan-0-head',
      'head of scan 0 lost; heads swap from frame to frame',
      [
        ['x.xx.x.xx.x.xx.', 'x.x.xx.x.xx.x.x'],
        ['.x..x.x..x.x..x', '.x.x..x.x..x.x.'],
      ],
    ],
  ],
  625: [
    ['scan-0-head', 'head of scan 0 lost', [['x.xx.x.xx.xxxx.xx.', '.x..x.x..x....x..x']]],
    ['scan-1-head', 'head of scan 1 lost', [['.x..x.x..x....x..x', 'x.xx.x.xx.xxxx.xx.']]],
  ],
};

/** `first` and `second` are the channels of audio block 1 and 2. The phase is fixed to sample 0 of each frame. */
export function dvHeadLosses(
  carrier: '6.35 mm' | '8 mm',
  suffix: '525' | '625',
  first: Channels,
  second: Channels,
): readonly LossPattern[] {
  const rows = (carrier === '8 mm' ? EIGHT_MM : NARROW)[suffix];
  return rows.map(([id, label, frames]) => ({
    id,
    label,
    cause: 'one-head',
    period: frames[0][0].length,
    restarts: 'frame',
    cycles: frames.map(([one, two]) => [stream(first, one), stream(second, two)]),
    hypothesis: false,
    source: 'D',
    certainty: 'D',
    weakest: carrier === '8 mm' ? 'M' : 'T',
    ...(carrier === '8 mm' ? { note: 'which tracks share a scan is from memory' } : {}),
  }));
}

/** Track (sequence, 0-based, of the whole frame) that holds sample n of a channel of audio block 1 or 2. */
export function dvTrackOf(suffix: '525' | '625', audioBlock: 1 | 2, n: number): number {
  const half = suffix === '525' ? 5 : 6;
  const within = (Math.floor(n / 3) + 2 * (n % 3)) % half;
  return audioBlock === 1 ? within : within + half;
}

/** The samples that one lost track (sequence `track`) takes from its audio block: one in 5 or 6, period 15 or 18. */
export function dvTrackLoss(suffix: '525' | '625', track: number, first: Channels, second: Channels): LossPattern {
  const half = suffix === '525' ? 5 : 6;
  const audioBlock = track < half ? 1 : 2;
  const period = 3 * half;
  const text = Array.from({ length: period }, (_, n) => (dvTrackOf(suffix, audioBlock, n) === track ? 'x' : '.')).join(
    '',
  );
  return {
    id: `track-${track}`,
    label: `track ${track} of a frame lost`,
    cause: 'one-track',
    period,
    restarts: 'frame',
    cycles: [[stream(audioBlock === 1 ? first : second, text)]],
    hypothesis: false,
    source: 'R18 R19',
    certainty: 'D',
    weakest: 'T',
  };
}

function stream(channels: Channels, text: string): LossStream {
  return { channels, lost: runsOf(text) };
}
