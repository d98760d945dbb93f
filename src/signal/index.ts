// Door of signal/.
export { Random } from './random.ts';
