// Cautions for what was seen on a tape, before it is played. Short, deferring to people who are trained for it and to local rules; never a
// recipe (design.md section 6; trade notes D).
import type { PlanRequest } from '../../plan/index.ts';

export function conditionCautions({ condition, signs }: Pick<PlanRequest['wanted'], 'condition' | 'signs'>): string[] {
  const known = SIGNS.filter(({ pattern }) => signs.some((sign) => pattern.test(sign)));
  const others = signs.filter((sign) => !SIGNS.some(({ pattern }) => pattern.test(sign)));
  return [
    ...(condition === 'poor'
      ? ['In poor condition: every run may be the last. Take the reads that matter most first.']
      : []),
    ...known.map(({ caution }) => caution),
    ...(others.length > 0 ? [`Seen on this tape: ${others.join(', ')}. Have it judged before it is played.`] : []),
  ];
}

const SIGNS: readonly { readonly pattern: RegExp; readonly caution: string }[] = [
  {
    pattern: /mou?ld|fung|spore/i,
    caution:
      'Mould: do not play it. Running a mouldy tape throws spores through the room and onto the deck; dormant ones harm as well. Isolate it and leave it to people with the protection and the rules for it.',
  },
  {
    pattern: /stick|sticky|hydroly|squeal|shed/i,
    caution:
      'Sticky: do not play it. Baking is only for tapes shown to need it, by people who have tested it on a like tape without value; for digital cassettes no proven recipe is known.',
  },
  {
    pattern: /spli[ct]/i,
    caution:
      'A splice can catch the spinning heads and damage them and the tape: have it judged by someone trained before it is played.',
  },
  {
    pattern: /wet|damp|dew|conden|cold/i,
    caution:
      'Damp or cold: let it come to the temperature of the room in its case, a day where in doubt; condensation binds tape to drum.',
  },
  {
    pattern: /shell|crack|broken|hub|wind|crease|edge|tear|torn/i,
    caution:
      'Damaged shell, winding or edge: repair and re-housing are for someone trained; playing on makes it worse.',
  },
];
