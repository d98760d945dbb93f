// Door of align/: where each capture lies on the timeline.
export * from './placement.ts';
