// Door of deliver/: documents for people and programs, made from plain results. Reads no captures.
export * from './build-report.ts';
export * from './documents.ts';
export { reportHtml } from './report-html.ts';
export * from './report-model.ts';
export { reportText } from './report-text.ts';
export * from './text-table.ts';
