// The chunks `cue ` and LIST `adtl` that mark places and regions in a WAVE file with labels and notes (layout: standards notes 2.4). Written behind
// the audio, so that nothing before it moves.
import { TapeproofError } from '../base/index.ts';
import { chunksBytes, type WaveChunk } from './wave-header.ts';

export interface Cue {
  readonly frame: number;
  /** of the region that begins here; 0: a place only */
  readonly frames: number;
  readonly label: string;
  readonly note: string;
}

const POINT_BYTES = 24;
/** Positions are 32 bits wide. */
const MOST_FRAMES = 2 ** 32 - 1;

/** Nothing for no cues. Throws `limit` for places beyond 2^32 frames, which the chunk cannot hold. */
export function cueChunks(cues: readonly Cue[]): WaveChunk[] {
  if (cues.length === 0) return [];
  const far = cues.find(({ frame, frames }) => frame > MOST_FRAMES || frames > MOST_FRAMES);
  if (far) {
    throw new TapeproofError('limit', 'a cue point lies beyond what a WAVE file can mark', {
      expected: `a frame up to ${MOST_FRAMES}`,
      found: `${far.frame}`,
      next: 'write the parts without marks',
    });
  }
  // Regions last: a common reader gives up at the first of them.
  const labels = [
    ...cues.flatMap(({ label, note }, i) => [
      textChunk('labl', i + 1, label),
      ...(note === '' ? [] : [textChunk('note', i + 1, note)]),
    ]),
    ...cues.flatMap(({ frames }, i) => (frames > 0 ? [regionChunk(i + 1, frames)] : [])),
  ];
  return [
    { id: 'cue ', body: pointsOf(cues) },
    { id: 'LIST', body: Buffer.concat([Buffer.from('adtl', 'latin1'), ...labels]) },
  ];
}

function pointsOf(cues: readonly Cue[]): Uint8Array {
  const body = Buffer.alloc(4 + POINT_BYTES * cues.length);
  body.writeUInt32LE(cues.length, 0);
  for (const [i, { frame }] of cues.entries()) {
    const at = 4 + POINT_BYTES * i;
    body.writeUInt32LE(i + 1, at);
    body.writeUInt32LE(frame, at + 4);
    body.write('data', at + 8, 'latin1');
    body.writeUInt32LE(frame, at + 20);
  }
  return body;
}

/** Latin letters as they are; what the chunk's byte text cannot say is UTF-8, as most readers take it. */
function textChunk(id: string, cue: number, text: string): Uint8Array {
  const words = Buffer.from(`${text.replaceAll('\0', '')}\0`, 'utf8');
  const body = Buffer.alloc(4 + words.length);
  body.writeUInt32LE(cue, 0);
  words.copy(body, 4);
  return chunksBytes([{ id, body }]);
}

function regionChunk(cue: number, frames: number): Uint8Array {
  const body = Buffer.alloc(20);
  body.writeUInt32LE(cue, 0);
  body.writeUInt32LE(frames, 4);
  body.write('rgn ', 8, 'latin1');
  return chunksBytes([{ id: 'ltxt', body }]);
}
