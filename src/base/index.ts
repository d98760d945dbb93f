// Door of base/: errors, rates, spans, blocks, sources of frames. Imports nothing from other folders.
export * from './block.ts';
export * from './edit-distance.ts';
export * from './errors.ts';
export * from './held-over.ts';
export * from './json.ts';
export * from './problem.ts';
export * from './rate.ts';
export * from './segment-law.ts';
export * from './source.ts';
export * from './span.ts';
export * from './stable-json.ts';
export * from './stop.ts';
export * from './version.ts';
