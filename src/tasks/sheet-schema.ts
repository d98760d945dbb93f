// The shape of a transfer sheet. The only file that names the schema library. What a shape cannot say is sheet-sense's.
import { z } from 'zod';
import { HIGHEST_CHANNEL } from './sheet-words.ts';

export type SheetDraft = z.infer<ReturnType<typeof sheetSchema>>;
export type ShapeIssue = z.core.$ZodIssue;

/** parts of one capture; 256 parts of 2 GiB are weeks */
const MOST_PARTS = 256;

/** The sheet where it has the right shape, else everything that has not. */
export function checkShape(raw: unknown): { readonly draft?: SheetDraft; readonly issues: readonly ShapeIssue[] } {
  const result = sheetSchema().safeParse(raw);
  return result.success ? { draft: result.data, issues: [] } : { issues: result.error.issues };
}

function sheetSchema() {
  const text = z.string();
  const file = z.string().trim().min(1);
  const capture = z.strictObject({
    file: file.optional(),
    files: z.array(file).min(1).max(MOST_PARTS).optional(),
    pass: z.int().min(1),
    deck: text.optional(),
    recorder: text.optional(),
    channels: z.array(z.int().min(0).max(HIGHEST_CHANNEL)).min(1).max(HIGHEST_CHANNEL),
    offset: z.int().optional(),
    raw: text.optional(),
    trailing: z.boolean().optional(),
    status: z.string().trim().min(1).optional(),
    notes: text.optional(),
  });
  const tape = z.strictObject({
    id: z.string().trim().min(1),
    format: text.optional(),
    system: text.optional(),
    word: z.int().min(8).max(32).optional(),
    rate: z.union([z.number(), z.string()]).optional(),
  });
  return z.strictObject({ tape, captures: z.array(capture).min(1), notes: text.optional() });
}
