// tapeproof examine: what is in capture files, and where a loss was covered up.
import { newVerb } from '../command.ts';
import { perform } from '../perform.ts';

export function examineVerb() {
  return newVerb({
    name: 'examine',
    summary: 'what is in capture files, and where a loss was covered up',
    description:
      'Reads each file once: digests, word length, companding law, recorded channels, levels, ' +
      'and every place where the deck seems to have estimated samples.',
    examples: [
      ['tapeproof examine p1-north.wav p1-south.wav', 'a table per file'],
      ['tapeproof examine p1-north.wav --json > north.json', 'every finding with its evidence'],
    ],
  })
    .argument('<files...>', 'capture files (WAVE, RF64, FLAC)')
    .action((files, options) =>
      perform(options, async (context) => {
        const { examineFiles, examineNeedsPerson } = await import('../../tasks/index.ts');
        const { examineText } = await import('../../deliver/index.ts');
        const document = await examineFiles(files, context);
        return { document, text: () => examineText(document), needsPerson: examineNeedsPerson(document) };
      }),
    );
}
