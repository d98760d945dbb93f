// Door of tasks/: one function per thing a user asks. Opens files, takes a stop signal and progress, returns plain data.
export { type AlignOptions, alignFiles, alignNeedsPerson } from './align-files.ts';
export { type AssembleDocument, type AssembledMaster, assembleNeedsPerson, assembleSheet } from './assemble-sheet.ts';
export type { ReadOptions } from './capture-source.ts';
export { type ChainOptions, chainNeedsPerson, judgeChainFiles } from './chain-files.ts';
export type { TaskContext } from './context.ts';
export { type CutOptions, cutNeedsPerson, proposeCuts } from './cut-propose.ts';
export { type CutWriteOptions, writeCuts } from './cut-write.ts';
export { type DemoDocument, type DemoOptions, demoNeedsPerson, runDemo } from './demo.ts';
export type { DemoCheck } from './demo-checks.ts';
export { type DeriveOptions, deriveFile } from './derive-file.ts';
export { type ExamineOptions, examineFiles, examineNeedsPerson } from './examine-files.ts';
export type { PartsRule } from './find-parts.ts';
export { type MeasureOptions, measureFiles, measureNeedsPerson } from './measure-files.ts';
export { type PlanOptions, planNeedsPerson, planSheet } from './plan-sheet.ts';
export { type RateOptions, rateFile, rateNeedsPerson } from './rate-file.ts';
export {
  type ReconcileDocument,
  type ReconcileOptions,
  reconcileFiles,
  reconcileNeedsPerson,
} from './reconcile-files.ts';
export { type RenderOptions, renderFile } from './render-file.ts';
export { type RunOptions, runNeedsPerson, runSheet } from './run-sheet.ts';
export type { SheetCapture, SheetFile, SheetTape, TransferSheet } from './sheet.ts';
export { type ChainSignalOptions, writeChainSignal } from './signal-chain.ts';
export { type TimecodeOptions, timecodeFiles, timecodeNeedsPerson } from './timecode-files.ts';
export { type ProgrammeOptions, writeProgramme } from './write-programme.ts';
export { type TimecodeSignalOptions, writeTimecodeSignal } from './write-timecode.ts';
