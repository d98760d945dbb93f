// `measure`: each capture of the test programme by itself, then together as documents, plots and a page. Goes on past a capture that cannot be
// measured and names it; when none can be, the first error is the outcome.
import { mkdir } from 'node:fs/promises';
import { join } from 'node:path';
import { stableJson } from '../base/index.ts';
import {
  type MeasureDocument,
  type MeasuredCapture,
  measureCsv,
  measureDocument,
  measuredCapture,
  measureHtml,
  measureSvgs,
  measureText,
} from '../deliver/index.ts';
import { identify, measureCapture, type SignalPath } from '../measure/index.ts';
import { writeFileSafely } from '../media/index.ts';
import { fileSource, openCapture, type ReadOptions } from './capture-source.ts';
import type { TaskContext } from './context.ts';
import { eachFile } from './each-file.ts';

export interface MeasureOptions extends ReadOptions {
  /** what the user knows of the way from the device's output to the file */
  readonly path?: SignalPath | undefined;
  /** folder for JSON, CSV, text, page and plots; nothing is written without it */
  readonly out?: string | undefined;
  /** the text lays the captures side by side */
  readonly compare?: boolean | undefined;
}

export async function measureFiles(
  paths: readonly string[],
  options: MeasureOptions = {},
  context: TaskContext = {},
): Promise<MeasureDocument> {
  const { done, failed } = await eachFile(
    paths,
    (path) => path,
    (path) => measureFile(path, options, context),
  );
  const document = measureDocument(done, failed);
  return options.out === undefined ? document : writeAll(document, options.out, options.compare ?? false);
}

/** Whether numbers are doubtful or a capture could not be measured. */
export function measureNeedsPerson(document: MeasureDocument): boolean {
  return document.failed !== undefined || document.captures.some((capture) => capture.doubts.length > 0);
}

async function measureFile(path: string, options: MeasureOptions, context: TaskContext): Promise<MeasuredCapture> {
  const audio = await openCapture(fileSource(path, options));
  try {
    const measurement = await measureCapture(audio, context);
    const identity = await identify(audio, measurement, { path: options.path ?? 'unknown', stop: context.stop });
    return measuredCapture({ ...audio.info, path }, measurement, identity);
  } finally {
    await audio.close();
  }
}

async function writeAll(document: MeasureDocument, folder: string, compare: boolean): Promise<MeasureDocument> {
  await mkdir(folder, { recursive: true });
  const files = [
    { name: 'measure.csv', text: measureCsv(document) },
    { name: 'measure.html', text: measureHtml(document) },
    ...measureSvgs(document),
    { name: 'measure.txt', text: measureText(document, { compare }) },
    { name: 'measure.json', text: stableJson(document) },
  ];
  for (const { name, text } of files) await writeFileSafely(join(folder, name), text);
  return { ...document, written: files.map(({ name }) => join(folder, name)).sort() };
}
