// `npm run score`: damages real recordings in known ways, examines them, counts what was found; prints the tables. A few
// minutes. `-- --large`: every format, all recordings, hours of undamaged sound; a run that was stopped goes on where it was;
// its rows lie in score/rows and make docs/scores.md. `-- --only TEXT` runs the pieces whose name holds TEXT, `-- --again`
// also those that are done, `-- --table` none. Not a test: it measures.
import { listPieces } from './pieces.ts';
import { RowStore } from './rows.ts';
import { writeDocument } from './section.ts';
import { scoresDocument } from './tables.ts';

const SEED = 20_261_125;

async function run(store: RowStore, isLarge: boolean, args: readonly string[]): Promise<void> {
  const only = args.includes('--only') ? (args[args.indexOf('--only') + 1] ?? '') : '';
  const pieces = (await listPieces(isLarge, SEED)).filter((piece) => piece.id.includes(only));
  for (const [k, { id, run }] of pieces.entries()) {
    if (!args.includes('--again') && store.isDone(id)) continue;
    const begin = performance.now();
    const rows = await run();
    store.write({ piece: id, date: new Date().toISOString().slice(0, 10), rows });
    process.stderr.write(`${k + 1}/${pieces.length} ${id}: ${((performance.now() - begin) / 1000).toFixed(1)} s\n`);
  }
}

const args = process.argv.slice(2);
const isLarge = args.includes('--large');
const store = new RowStore(new URL(isLarge ? 'rows/' : '../.cache/score/', import.meta.url), SEED);
if (!args.includes('--table')) await run(store, isLarge, args);
const text = scoresDocument({ seed: SEED, ...store.read() });
if (isLarge) writeDocument(text);
process.stdout.write(text);
