// Door of tasks/: one function per thing a user asks. Opens files, takes a stop signal and progress, returns plain data.
export type { TaskContext } from './context.ts';
export { examineFile, examineFiles, examineNeedsPerson } from './examine-files.ts';
export { loadSheet, parseSheet, type SheetCapture, type SheetTape, type TransferSheet } from './sheet.ts';
