// The thread of hashes.ts: takes bytes for one or more streams in order, says when it is done with them, and in the end the digests.
import { createHash } from 'node:crypto';
import { parentPort, workerData } from 'node:worker_threads';

export type ToHashThread = { readonly streams: readonly number[]; readonly bytes: Uint8Array } | 'finish';
export type FromHashThread = 'done' | readonly string[];

const port = parentPort;
if (!port) throw new Error('not a thread');
const say = (message: FromHashThread) => port.postMessage(message);
const hashes = Array.from({ length: workerData as number }, () => createHash('sha256'));

port.on('message', (message: ToHashThread) => {
  if (message === 'finish') return say(hashes.map((hash) => hash.digest('hex')));
  for (const stream of message.streams) hashes[stream].update(message.bytes);
  say('done');
});
