// Door of tasks/: one function per thing a user asks. Opens files, takes a stop signal and progress, returns plain data.
export type { TaskContext } from './context.ts';
export { examineFile, examineFiles, examineNeedsPerson } from './examine-files.ts';
