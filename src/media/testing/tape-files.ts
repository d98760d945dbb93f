// Small valid images of tapes for fuzzing: DV of every shape, bare and in both wrappers as far as bytes can be made here, and DAT frames.
// Larger than the other valid files (a DV frame is 120 kB), so kept apart from them.
import { datFrames } from './dat-frames.ts';
import { type DvTape, dvStream } from './dv-stream.ts';
import { noisePlanes } from './signals.ts';

export function tapeFiles(): readonly Buffer[] {
  const sound = {
    rateHz: 48_000,
    word: 16,
    counts: [1600, 1602],
    planes: noisePlanes(2, 3202, 15),
    timecode: 9,
  } as const;
  const four: DvTape = {
    ...{ lines: 625, rateHz: 32_000, word: 12, counts: [1280, 1281], planes: noisePlanes(4, 2561, 11) },
    ...{ isUnlocked: true, recordedAt: (f) => f },
  };
  const narrow = dvStream({ lines: 525, ...sound });
  return [
    narrow,
    dvStream(four),
    aviOf(narrow, 120_000),
    datFrames({ rateHz: 48_000, planes: noisePlanes(2, 1440 * 4, 16), absolute: (f) => f, programme: () => 3 }),
  ];
}

/** The least AVI that holds DV frames. */
function aviOf(stream: Buffer, frameBytes: number): Buffer {
  const strh = Buffer.alloc(56);
  strh.write('vidsdvsd', 'latin1');
  const frames: Buffer[] = [];
  for (let at = 0; at < stream.length; at += frameBytes)
    frames.push(chunk('00dc', stream.subarray(at, at + frameBytes)));
  const header = list('LIST', 'hdrl', [list('LIST', 'strl', [chunk('strh', strh), chunk('strf', Buffer.alloc(40))])]);
  return list('RIFF', 'AVI ', [header, list('LIST', 'movi', frames)]);
}

function chunk(id: string, body: Buffer): Buffer {
  const head = Buffer.from(`${id}....`, 'latin1');
  head.writeUInt32LE(body.length, 4);
  return Buffer.concat([head, body]);
}

function list(id: string, kind: string, parts: readonly Buffer[]): Buffer {
  return chunk(id, Buffer.concat([Buffer.from(kind, 'latin1'), ...parts]));
}
