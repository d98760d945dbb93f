// Door of assemble/: the frozen edit list and its rendering; the cut list.
export * from './build-edit-list.ts';
export * from './cut-list.ts';
export * from './edit-list.ts';
export * from './render-edit-list.ts';
export * from './validate-edit-list.ts';
