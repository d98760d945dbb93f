// Door of tasks/: one function per thing a user asks. Opens files, takes a stop signal and progress, returns plain data. Each is loaded when it is
// asked for, with its own libraries and no other's: to load them all takes longer than to examine a minute of sound.
export type { AssembleDocument, AssembledMaster } from './assemble-sheet.ts';
export type { DemoDocument } from './demo.ts';
export type { ReconcileDocument } from './reconcile-files.ts';

export const TASKS = {
  align: () => import('./align-files.ts'),
  assemble: () => import('./assemble-sheet.ts'),
  chain: () => import('./chain-files.ts'),
  cutPropose: () => import('./cut-propose.ts'),
  cutWrite: () => import('./cut-write.ts'),
  demo: () => import('./demo.ts'),
  derive: () => import('./derive-file.ts'),
  /** `paths`: what will be examined, where it is known already */
  async examine(paths: readonly string[] = []) {
    const { beginSideEarly } = await import('./early-side.ts');
    beginSideEarly(paths);
    return import('./examine-files.ts');
  },
  measure: () => import('./measure-files.ts'),
  plan: () => import('./plan-sheet.ts'),
  rate: () => import('./rate-file.ts'),
  reconcile: () => import('./reconcile-files.ts'),
  render: () => import('./render-file.ts'),
  run: () => import('./run-sheet.ts'),
  timecode: () => import('./timecode-files.ts'),
  writeChainSignal: () => import('./signal-chain.ts'),
  writeProgramme: () => import('./write-programme.ts'),
  writeTimecode: () => import('./write-timecode.ts'),
} as const;
