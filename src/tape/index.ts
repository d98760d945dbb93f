// Door of tape/: what is known of each tape format, as frozen data. No computing, no judging of recordings.
export * from './laws/index.ts';
