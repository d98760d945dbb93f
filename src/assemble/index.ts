// Door of assemble/: the frozen edit list and its rendering.
export * from './edit-list.ts';
