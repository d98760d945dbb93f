// tapeproof demo: an invented tape with known damage, found against the truth.

import { TASKS } from '../../tasks/index.ts';
import { newVerb, wholeNumber } from '../command.ts';
import { perform } from '../perform.ts';

export function demoVerb() {
  return newVerb({
    name: 'demo',
    summary: 'an invented tape with known damage, found against the truth',
    description:
      'Makes the captures of an invented eight-channel tape (a clogged head, a torn spot, a slip, ' +
      'a fault in one chain), runs the whole job on them and compares what it found with the truth. ' +
      'Ends with 1 only when something was found otherwise than it is.',
    examples: [
      ['tapeproof demo --out demo', 'captures, sheet, master and report stay in the folder'],
      ['tapeproof demo --seed 7', 'the same faults in other noise'],
    ],
  })
    .option('--out <folder>', 'where everything goes (default: tapeproof-demo)')
    .option('--seed <number>', 'whole number from which the tape is made', wholeNumber(0))
    .action((options) =>
      perform(options, async (context) => {
        const { demoNeedsPerson, runDemo } = await TASKS.demo();
        const { demoText } = await import('../demo-text.ts');
        const document = await runDemo({ out: options.out, seed: options.seed }, context);
        return { document, text: () => demoText(document), needsPerson: demoNeedsPerson(document) };
      }),
    );
}
