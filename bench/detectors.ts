// `node bench/detectors.ts FILE`: how long each detector takes by itself on a minute of a file, and all of them together; in
// nanoseconds of processor time per sample and channel, best of three, as others may be at work. For finding the one that has become dear.
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
    const from = process.cpuUsage();
    await examineSource(source, detectors);
    const { user, system } = process.cpuUsage(from);
    least = Math.min(least, user + system);
  }
  return (least * 1e3) / samples;
}

for (const detector of DETECTORS) console.log(`${detector.meta.id.padEnd(16)} ${(await best([detector])).toFixed(2)}`);
console.log(`${'together'.padEnd(16)} ${(await best(DETECTORS)).toFixed(2)}`);
