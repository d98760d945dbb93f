// tapeproof run: the whole job of one tape from its transfer sheet.

import { TASKS } from '../../tasks/index.ts';
import { newVerb } from '../command.ts';
import { perform } from '../perform.ts';

export function runVerb() {
  return newVerb({
    name: 'run',
    summary: 'the whole job of one tape, from its transfer sheet to master and report',
    description:
      'Examines the captures, places them on one timeline, compares repeated reads, writes ' +
      'master.wav, edit-list.json and the report (html, txt, json) into the folder given.',
    examples: [['tapeproof run sheet.yaml --out result', 'captures are looked for beside the sheet']],
  })
    .argument('<sheet>', 'transfer sheet (YAML; GUIDE.md shows one)')
    .requiredOption('--out <folder>', 'where master and report go')
    .action((sheet, options) =>
      perform(options, async (context) => {
        const { runNeedsPerson, runSheet } = await TASKS.run();
        const { runText } = await import('../run-text.ts');
        const document = await runSheet(sheet, { out: options.out }, context);
        return { document, text: () => runText(document, options.out), needsPerson: runNeedsPerson(document) };
      }),
    );
}
