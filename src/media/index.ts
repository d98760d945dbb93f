// Door of media/: opens and writes audio files, always streaming, with digests from the same read.
export type {
  AudioFile,
  Digests,
  JointEvidence,
  MediaInfo,
  Pass,
  PassOptions,
  PassPlace,
  TakeJoint,
  TakePart,
} from './audio-file.ts';
export { isAudioPath } from './audio-kind.ts';
export type { Bext } from './bext.ts';
export type { CarrierEvent, CarrierFacts, CarrierLoss, CarrierReport } from './carrier.ts';
export { CompanionThread } from './companion-thread.ts';
export { type Cue, cueChunks } from './cue-chunks.ts';
export type { DatFacts } from './dat/dat-facts.ts';
export type { DvFacts } from './dv/dv-facts.ts';
export { findTakes, type Take } from './find-takes.ts';
export { type OpenOptions, openAudio } from './open-audio.ts';
export { bytesFrom, roomFor } from './pass-place.ts';
export { formatRawSpec, parseRawSpec, type RawSpec } from './raw-file.ts';
export { writeFileSafely } from './safe-file.ts';
export { openTake, type TakeOptions } from './take-file.ts';
export { findNeighbours } from './take-neighbours.ts';
export type { WaveChunk } from './wave-header.ts';
export { type AudioFormat, type AudioWriter, createAudio, type Written } from './wave-writer.ts';
