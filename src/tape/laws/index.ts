// The companding laws, for tape/index.ts to pass on.
export * from './eight-mm.ts';
export * from './find-law.ts';
export * from './g711.ts';
export * from './nonlinear-12.ts';
