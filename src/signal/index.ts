// Door of signal/.
export * from './companding.ts';
export { Random } from './random.ts';
export { fractionalDelay, type Ratio, type ResampleOptions, resample, resampleReal } from './resample.ts';
