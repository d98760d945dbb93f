// tapeproof assemble: the same master again from its frozen edit list.

import { TASKS } from '../../tasks/index.ts';
import { newVerb } from '../command.ts';
import { perform } from '../perform.ts';

export function assembleVerb() {
  return newVerb({
    name: 'assemble',
    summary: 'the same master again, from its edit list or its sheet',
    description:
      'Renders a frozen edit list from the captures it names and proves that the result is the ' +
      'same master. With a transfer sheet it makes the edit list first.',
    examples: [
      ['tapeproof assemble result/edit-list.json --out again', 'renders and compares the digest'],
      ['tapeproof assemble sheet.yaml --out result', 'master and edit list, without the report'],
    ],
  })
    .argument('<sheet>', 'edit list (JSON) or transfer sheet (YAML)')
    .option('--out <folder>', 'where the master goes', '.')
    .action((sheet, options) =>
      perform(options, async (context) => {
        const { assembleNeedsPerson, assembleSheet } = await TASKS.assemble();
        const { assembleText } = await import('../assemble-text.ts');
        const document = await assembleSheet(sheet, { out: options.out }, context);
        return { document, text: () => assembleText(document), needsPerson: assembleNeedsPerson(document) };
      }),
    );
}
