// Door of align/: where each capture lies on the timeline.

export { type AlignOptions, align } from './align.ts';
export { type AnchorSession, type AnchorSet, beginAnchors } from './anchor-set.ts';
export * from './placement.ts';
