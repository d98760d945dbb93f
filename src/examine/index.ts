// Door of examine/: detectors, the one streaming pass, findings and verdicts.
export * from './detector.ts';
export * from './finding.ts';
export * from './pass.ts';
export { DETECTORS } from './registry.ts';
