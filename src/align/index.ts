// Door of align/: where each capture lies on the timeline.

export { type AlignOptions, align } from './align.ts';
export { type AnchorSession, type AnchorSet, beginAnchors, collectAnchors } from './anchor-set.ts';
export { joinGroups } from './move-group.ts';
export * from './placement.ts';
export { joinTimecode, type TimecodeFacts, timecodeContradictions } from './timecode-join.ts';
export type { CodedCapture } from './timecode-offset.ts';
