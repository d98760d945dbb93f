// tapeproof plan: which deck, which cable, which recorder in which pass, before the tape is run.

import { TASKS } from '../../tasks/index.ts';
import { newVerb } from '../command.ts';
import { perform } from '../perform.ts';

export function planVerb() {
  return newVerb({
    name: 'plan',
    summary: 'which deck, cable and recorder in which pass, before the tape is run',
    description:
      'From a sheet with the tape, what is wanted of it, the bench (decks and recorders) and the rules: the best passes by stated cost, ' +
      'what joins their captures, and what is ruled out and why. With --out also a patch sheet for every pass, to print and tick off, and ' +
      'the transfer sheet with the names for the files. An existing file is not overwritten.',
    examples: [
      ['tapeproof plan bench.yaml', 'the plan, on the screen'],
      ['tapeproof plan bench.yaml --out HB-0417', 'also plan.html, plan.txt, plan.json and transfer-sheet.yaml'],
    ],
  })
    .argument('<sheet>', 'sheet with tape, wanted, bench and rules (YAML; GUIDE.md shows one)')
    .option('--out <folder>', 'where plan, patch sheets and transfer sheet go')
    .action((sheet, options) =>
      perform(options, async () => {
        const { planNeedsPerson, planSheet } = await TASKS.plan();
        const { planText } = await import('../../deliver/index.ts');
        const document = await planSheet(sheet, { out: options.out });
        return { document, text: () => planText(document), needsPerson: planNeedsPerson(document) };
      }),
    );
}
