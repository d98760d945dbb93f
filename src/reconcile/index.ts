// Door of reconcile/: repeated reads compared, voted on and chosen among, with reasons.
export type { Finding as LossEvidence } from './evidence.ts';
export * from './placed-spans.ts';
export * from './plan.ts';
export * from './provenance.ts';
export * from './reconciliation.ts';
export type { Tally } from './run-book.ts';
export type { StripeColumn } from './stripe.ts';
