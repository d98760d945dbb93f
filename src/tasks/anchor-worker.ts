// The second thread of collect-anchors.ts: opens captures, answers with their anchors.
import { parentPort, workerData } from 'node:worker_threads';
import { type AnchorSet, collectAnchors } from '../align/index.ts';
import { type CaptureSource, openCapture } from './capture-source.ts';

const port = parentPort;
if (!port) throw new Error('not a thread');
const sets: AnchorSet[] = [];
for (const source of workerData as readonly CaptureSource[]) {
  const audio = await openCapture(source);
  const { info, channels } = await collectAnchors(audio);
  const { name, frames, rate, bits } = info;
  sets.push({ info: { name, channels: info.channels, frames, rate, bits }, channels });
  await audio.close();
}
port.postMessage(sets);
