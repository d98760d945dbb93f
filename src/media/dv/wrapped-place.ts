// One frame as a wrapper (AVI, QuickTime) gives it: its bytes are known, its system is not. Shared by the walks of both wrappers.
import type { ByteFile } from '../byte-file.ts';
import { parseHeader } from './dif-identity.ts';
import { DV_SYSTEMS } from './dif-system.ts';
import { type DifPlace, HEAD_BYTES } from './walk-raw.ts';

/** `last`: the system of the frame before, for one without a header. A frame of no bytes is one that the recorder dropped. */
export async function wrappedPlace(
  file: ByteFile,
  at: number,
  bytes: number,
  last: DifPlace | undefined,
): Promise<DifPlace> {
  const head = await file.view(at, Math.min(HEAD_BYTES, bytes));
  const said = parseHeader(head)?.system;
  const bySize = DV_SYSTEMS.find(({ frameBytes }) => bytes === frameBytes || bytes === 2 * frameBytes);
  const system = bySize ?? said ?? last?.system;
  if (!system) return { at, bytes, head };
  const difChannels = bytes > system.frameBytes ? 2 : bytes === system.frameBytes ? 1 : (last?.difChannels ?? 1);
  const isSystemWrong = said !== undefined && said !== system;
  const most = system.frameBytes * difChannels;
  return {
    at,
    bytes: Math.min(bytes, most),
    head,
    system,
    difChannels,
    isHeaderDamaged: !said && bytes > 0,
    isSystemWrong,
  };
}

/** Four characters; what is no letter of text becomes a mark. */
export function fourCharacters(bytes: Uint8Array, at: number): string {
  return String.fromCharCode(...bytes.subarray(at, at + 4)).replace(/[^\x20-\x7e]/g, '?');
}
