// Door of reconcile/: repeated reads compared, voted on and chosen among, with reasons.
export * from './provenance.ts';
