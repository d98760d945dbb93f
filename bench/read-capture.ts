// One file read whole, a program of its own so that its time and memory can be measured: `FILE` as every verb reads it (blocks, both
// digests, what the carrier says), `FILE samples` for the samples alone.
import { openAudio } from '../src/media/index.ts';

const [, , path, what] = process.argv;
const audio = await openAudio(path);
const pass = audio.pass();
let frames = 0;
for await (const block of what === 'samples' ? audio.blocks() : pass.blocks) frames += block.frames;
const losses = pass.carrier?.()?.losses.length ?? 0;
console.log(JSON.stringify(what === 'samples' ? { frames } : { frames, losses, ...pass.digests() }));
await audio.close();
