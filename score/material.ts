// The recordings of the tests, as integer planes, for the grid of word lengths. Fetched from Debian packages into .cache, never
// copied into the project. The recordings that are damaged for the score: recordings.ts.
import { join } from 'node:path';
import { loadMusic, REAL_MUSIC } from '../src/media/testing/music.ts';
import { folderOf } from './sox.ts';

export interface Material {
  readonly name: string;
  readonly kind: string;
  readonly rateHz: number;
  readonly bits: number;
  readonly planes: readonly Int32Array[];
}

export async function loadMaterial(): Promise<Material[]> {
  const loaded: Material[] = [];
  for (const recording of REAL_MUSIC) {
    const folder = await folderOf(recording.package);
    const { planes, bits } = await loadMusic(join(folder, recording.path));
    loaded.push({ name: recording.name, kind: recording.kind, rateHz: recording.rateHz, bits, planes });
  }
  return loaded;
}
