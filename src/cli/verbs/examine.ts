// tapeproof examine: what is in capture files, and where a loss was covered up.

import { TASKS } from '../../tasks/index.ts';
import { choice, newVerb, RAW_OPTION, SEGMENT_OPTION, TRAILING_OPTION, wholeNumber } from '../command.ts';
import { perform } from '../perform.ts';

export function examineVerb() {
  return newVerb({
    name: 'examine',
    summary: 'what is in capture files, and where a loss was covered up',
    description:
      'Reads each file once: digests, word length, companding law, recorded channels, levels, ' +
      'and every place where the deck seems to have estimated samples. Files that are surely parts of one take are ' +
      'read as one; what was not read is said, with the way to read it.',
    examples: [
      ['tapeproof examine p1-north.wav p1-south.wav', 'a table per file'],
      ['tapeproof examine p1-north.wav --json > north.json', 'every finding with its evidence'],
      ['tapeproof examine card/', 'the audio in a folder, takes in several files as one'],
      ['tapeproof examine p1-north.wav --status "04 82 00 02"', 'the flags of the interface held against the samples'],
      ['tapeproof examine dump.bin --raw 48000:2:s16le', 'bare samples without a header'],
    ],
  })
    .argument('<files...>', 'capture files (WAVE and its relatives, AIFF, CAF, FLAC, DV, DAT frames) or folders')
    .option(...RAW_OPTION)
    .option(...TRAILING_OPTION)
    .option(...SEGMENT_OPTION, wholeNumber(1))
    .option('--status <status>', 'what the interface said: hex, words, or the path of a log (see the guide)')
    .addOption(
      choice('--parts <how>', 'one take in several files: by the evidence, all joined as named, or each apart', [
        'auto',
        'joined',
        'apart',
      ]).default('auto' as const),
    )
    .action((files, options) =>
      perform(options, async (context) => {
        const { examineFiles, examineNeedsPerson } = await TASKS.examine(files);
        const { examineText } = await import('../../deliver/index.ts');
        const { raw, trailing, segment, parts, status } = options;
        const document = await examineFiles(files, { raw, trailing, segment, parts, status }, context);
        return { document, text: () => examineText(document), needsPerson: examineNeedsPerson(document) };
      }),
    );
}
