// tapeproof reconcile: the best composite of repeated reads.

import { TASKS } from '../../tasks/index.ts';
import { newVerb, RAW_OPTION, SEGMENT_OPTION, TRAILING_OPTION, wholeNumber } from '../command.ts';
import { perform } from '../perform.ts';

export function reconcileVerb() {
  return newVerb({
    name: 'reconcile',
    summary: 'the best composite of repeated reads of the same channels, with reasons',
    description:
      'Compares reads of the same channels sample by sample and writes a file in which every ' +
      'sample comes from one of them. Each file counts as a pass of its own.',
    examples: [['tapeproof reconcile read-1.wav read-2.wav read-3.wav --out best.wav', 'votes, chooses, and says why']],
  })
    .argument('<files...>', 'two or more reads of the same channels')
    .requiredOption('--out <file>', 'where the composite goes')
    .option(...RAW_OPTION)
    .option(...TRAILING_OPTION)
    .option(...SEGMENT_OPTION, wholeNumber(1))
    .action((files, options) =>
      perform(options, async (context) => {
        const { reconcileFiles, reconcileNeedsPerson } = await TASKS.reconcile();
        const { reconcileText } = await import('../reconcile-text.ts');
        const { out, raw, trailing, segment } = options;
        const document = await reconcileFiles(files, { out, raw, trailing, segment }, context);
        return { document, text: () => reconcileText(document), needsPerson: reconcileNeedsPerson(document) };
      }),
    );
}
