// Door of media/: opens and writes audio files, always streaming, with digests from the same read.
export type { AudioFile, Digests, MediaInfo, Pass, PassOptions, TakePart } from './audio-file.ts';
export type { Bext } from './bext.ts';
export { findTakes, type Take } from './find-takes.ts';
export { type OpenOptions, openAudio } from './open-audio.ts';
export { openRaw, parseRawSpec, type RawSpec } from './raw-file.ts';
export { writeFileSafely } from './safe-file.ts';
export type { JointEvidence, TakeJoint } from './take-evidence.ts';
export { openTake } from './take-file.ts';
export { type AudioFormat, type AudioWriter, createAudio, type Written } from './wave-writer.ts';
