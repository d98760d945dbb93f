// Real recordings for the score, as integer planes. Fetched from Debian packages into .cache, never copied into the project.
import { join } from 'node:path';
import { loadMusic, musicFolder, REAL_MUSIC } from '../src/media/testing/music.ts';

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
    const folder = await musicFolder(recording.package);
    if (folder === undefined) throw new Error(`${recording.package} cannot be fetched: no apt-get here?`);
    const { planes, bits } = await loadMusic(join(folder, recording.path));
    loaded.push({ name: recording.name, kind: recording.kind, rateHz: recording.rateHz, bits, planes });
  }
  return loaded;
}
