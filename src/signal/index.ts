// Door of signal/.
export * from './companding.ts';
export { Random } from './random.ts';
