// Door of deliver/: documents for people and programs, made from plain results. Reads no captures.

export { alignText } from './align-text.ts';
export * from './build-report.ts';
export { type DeriveDocument, deriveText } from './derive-document.ts';
export * from './documents.ts';
export { examineText } from './examine-text.ts';
export * from './format-sheet.ts';
export { measureCsv } from './measure/measure-csv.ts';
export * from './measure/measure-document.ts';
export { measureHtml, measureSvgs } from './measure/measure-html.ts';
export { measureText } from './measure/measure-text.ts';
export { signalText } from './measure/signal-text.ts';
export { fileNames, patchSheet } from './plan/patch-sheet.ts';
export { patchText } from './plan/patch-text.ts';
export * from './plan/plan-document.ts';
export { planHtml } from './plan/plan-html.ts';
export { planText } from './plan/plan-text.ts';
export { type RenderDocument, renderText } from './render/render-document.ts';
export { reportHtml } from './report-html.ts';
export { reportJson } from './report-json.ts';
export * from './report-model.ts';
export { reportText } from './report-text.ts';
export * from './status-document.ts';
export * from './text-table.ts';
export * from './timecode/timecode-document.ts';
export { timecodeCsv, timecodeText } from './timecode/timecode-text.ts';
