// `node bench/detectors.ts FILE`: how long each detector takes by itself on a minute of a file, and all of them together; in
// nanoseconds per sample and channel, best of three. For finding the one that has become dear.
import { memorySource } from '../src/base/index.ts';
import { DETECTORS, type Detector, examineSource } from '../src/examine/index.ts';
import { openAudio } from '../src/media/index.ts';

const TURNS = 3;
const audio = await openAudio(process.argv[2]);
const { planes } = await audio.read(0, 60 * 48_000);
await audio.close();
const { name, rate, bits } = audio.info;
const samples = planes.length * planes[0].length;

async function best(detectors: readonly Detector[]): Promise<number> {
  let least = Number.POSITIVE_INFINITY;
  for (let turn = 0; turn < TURNS; turn++) {
    const source = memorySource(planes, { name, rate, bits });
    const from = performance.now();
    await examineSource(source, detectors);
    least = Math.min(least, performance.now() - from);
  }
  return (least * 1e6) / samples;
}

for (const detector of DETECTORS) console.log(`${detector.meta.id.padEnd(16)} ${(await best([detector])).toFixed(2)}`);
console.log(`${'together'.padEnd(16)} ${(await best(DETECTORS)).toFixed(2)}`);
