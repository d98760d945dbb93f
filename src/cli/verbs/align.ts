// tapeproof align: where captures lie on one timeline.

import { TASKS } from '../../tasks/index.ts';
import { newVerb, RAW_OPTION, SEGMENT_OPTION, TRAILING_OPTION, wholeNumber } from '../command.ts';
import { perform } from '../perform.ts';

export function alignVerb() {
  return newVerb({
    name: 'align',
    summary: 'where captures lie on one timeline, and where samples slipped',
    description:
      'Finds the common evidence in captures that began at different moments and places them ' +
      'to the sample. A join without evidence is refused, with the reason and what would help.',
    examples: [
      ['tapeproof align first-read.wav second-read.wav', 'offset, slips and relation of the second to the first'],
      ['tapeproof align a.wav b.wav c.wav --reference 2', "b.wav's first frame is frame 0 of the timeline"],
    ],
  })
    .argument('<files...>', 'two or more capture files')
    .option('--reference <number>', 'which file, counted from 1, is the reference (default: the first)', wholeNumber(1))
    .option(...RAW_OPTION)
    .option(...TRAILING_OPTION)
    .option(...SEGMENT_OPTION, wholeNumber(1))
    .action((files, options) =>
      perform(options, async (context) => {
        const { alignFiles, alignNeedsPerson } = await TASKS.align();
        const { alignText } = await import('../../deliver/index.ts');
        const { raw, trailing, segment } = options;
        const reference = options.reference === undefined ? undefined : options.reference - 1;
        const document = await alignFiles(files, { reference, raw, trailing, segment }, context);
        return { document, text: () => alignText(document), needsPerson: alignNeedsPerson(document) };
      }),
    );
}
