// report.json: the model as it is, the provenance with one run a line, so that a badly damaged tape of hours stays readable
// and is written without one string of everything.
import { stableJson } from '../base/index.ts';
import type { TransferReport } from './report-model.ts';

/** Parts of the text in order. Their concatenation is the JSON of the report. */
export function* reportJson(report: TransferReport): Generator<string> {
  const { provenance, ...rest } = report;
  const head = stableJson(rest, 1).trimEnd().slice(0, -1).trimEnd();
  yield `${head},\n "provenance": [`;
  for (const [i, run] of provenance.entries()) yield `${i === 0 ? '' : ','}\n  ${JSON.stringify(run)}`;
  yield provenance.length === 0 ? ']\n}\n' : '\n ]\n}\n';
}
