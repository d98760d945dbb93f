// The shape of a transfer sheet. The only file that names the schema library. What a shape cannot say is sheet-sense's and sheet-bench-sense's.
import { z } from 'zod';
import { HIGHEST_CHANNEL } from './sheet-words.ts';

export type SheetDraft = z.infer<ReturnType<typeof sheetSchema>>;
export type WantedDraft = NonNullable<SheetDraft['wanted']>;
export type BenchDraft = NonNullable<SheetDraft['bench']>;
export type DeckDraft = BenchDraft['decks'][number];
export type RecorderDraft = BenchDraft['recorders'][number];
export type RulesDraft = NonNullable<SheetDraft['rules']>;
export type ShapeIssue = z.core.$ZodIssue;

/** parts of one capture; 256 parts of 2 GiB are weeks */
const MOST_PARTS = 256;
/** more than stands on any bench; the search has its own limits below */
const MOST_MACHINES = 32;
const MOST_SOCKETS = 24;
const MOST_READS = 8;
const MOST_PASSES = 1000;

/** The sheet where it has the right shape, else everything that has not. */
export function checkShape(raw: unknown): { readonly draft?: SheetDraft; readonly issues: readonly ShapeIssue[] } {
  const result = sheetSchema().safeParse(raw);
  return result.success ? { draft: result.data, issues: [] } : { issues: result.error.issues };
}

function sheetSchema() {
  const text = z.string();
  return z.strictObject({
    tape: tapeSchema(),
    captures: z.array(captureSchema()).min(1).optional(),
    wanted: wantedSchema().optional(),
    bench: benchSchema().optional(),
    rules: rulesSchema().optional(),
    notes: text.optional(),
  });
}

function tapeSchema() {
  return z.strictObject({
    id: z.string().trim().min(1),
    format: z.string().optional(),
    system: z.string().optional(),
    word: z.int().min(8).max(32).optional(),
    rate: z.union([z.number(), z.string()]).optional(),
  });
}

function captureSchema() {
  const text = z.string();
  const file = z.string().trim().min(1);
  return z.strictObject({
    file: file.optional(),
    files: z.array(file).min(1).max(MOST_PARTS).optional(),
    pass: z.int().min(1),
    deck: text.optional(),
    recorder: text.optional(),
    channels: z.array(z.int().min(0).max(HIGHEST_CHANNEL)).min(1).max(HIGHEST_CHANNEL),
    offset: z.int().optional(),
    starts: z.string().trim().min(1).optional(),
    timecode: z.int().min(1).max(HIGHEST_CHANNEL).optional(),
    raw: text.optional(),
    trailing: z.boolean().optional(),
    segment: z.int().min(1).optional(),
    status: z.string().trim().min(1).optional(),
    notes: text.optional(),
  });
}

function wantedSchema() {
  const numbers = z.union([z.array(z.int()), z.int(), z.string()]);
  return z.strictObject({
    programmes: numbers.optional(),
    channels: numbers.optional(),
    reads: z.int().min(1).max(MOST_READS).optional(),
    minutes: z.number().positive().max(10_000).optional(),
    speed: z.string().trim().min(1).optional(),
    condition: z.enum(['good', 'fair', 'poor']).optional(),
    signs: z.array(z.string().trim().min(1)).max(20).optional(),
  });
}

function benchSchema() {
  return z.strictObject({
    decks: z.array(deckSchema()).min(1).max(MOST_MACHINES),
    recorders: z.array(recorderSchema()).min(1).max(MOST_MACHINES),
  });
}

function deckSchema() {
  const word = z.string().trim().min(1);
  const channels = z.array(z.int().min(1).max(HIGHEST_CHANNEL)).min(1).max(MOST_SOCKETS);
  const output = z.strictObject({
    name: word.optional(),
    kind: word,
    channels: channels.optional(),
    choices: z.array(channels).min(1).max(64).optional(),
    width: z.int().min(1).max(MOST_SOCKETS).optional(),
  });
  return z.strictObject({
    name: word,
    equipment: z.string().optional(),
    plays: z.array(word).min(1).optional(),
    systems: z
      .array(z.union([word, z.int()]))
      .min(1)
      .optional(),
    speeds: z.array(word).min(1).optional(),
    outputs: z.array(output).min(1).max(MOST_SOCKETS),
    timecode: z.boolean().optional(),
    wordclock: z.boolean().optional(),
    wear: z.number().positive().max(100).optional(),
  });
}

function recorderSchema() {
  const word = z.string().trim().min(1);
  const size = z.union([z.number().positive(), z.string()]);
  const input = z.strictObject({
    name: word.optional(),
    kind: word,
    channels: z.int().min(1).max(MOST_SOCKETS).optional(),
  });
  return z.strictObject({
    name: word,
    equipment: z.string().optional(),
    inputs: z.array(input).min(1).max(MOST_SOCKETS),
    rates: z
      .array(z.union([z.number(), z.string()]))
      .min(1)
      .optional(),
    bits: z.array(z.int().min(8).max(32)).min(1).optional(),
    clock: z.enum(['input', 'word', 'internal']).optional(),
    resamples: z.enum(['never', 'switchable', 'always']).optional(),
    limit: size.optional(),
    splits: z.boolean().optional(),
    storage: size.optional(),
    timecode: z.boolean().optional(),
    starts: word.optional(),
  });
}

function rulesSchema() {
  const points = z.number().min(0).max(1e6);
  return z.strictObject({
    passes: z.int().min(1).max(MOST_PASSES).optional(),
    handling: z.number().min(0).max(1000).optional(),
    prefer: z.enum(['wear', 'proof']).optional(),
    join: z.enum(['exact', 'timecode', 'none']).optional(),
    analogue: z.boolean().optional(),
    cost: z
      .strictObject({
        pass: points.optional(),
        wear: points.optional(),
        hour: points.optional(),
        gigabyte: points.optional(),
        deck: points.optional(),
      })
      .optional(),
  });
}
