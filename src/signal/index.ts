// Door of signal/.
export * from './companding.ts';
export { fitPredictor, type Predictor, predictionResidual } from './linear-prediction.ts';
export { Random } from './random.ts';
export { fractionalDelay, type Ratio, type ResampleOptions, resample, resampleReal } from './resample.ts';
export { StepCounter } from './step.ts';
