// tapeproof derive: a corrected copy that names its parent.
import { newVerb, RAW_OPTION, TRAILING_OPTION } from '../command.ts';
import { perform } from '../perform.ts';

export function deriveVerb() {
  return newVerb({
    name: 'derive',
    summary: 'a corrected copy of a capture, as a derivative that names its parent',
    description:
      'Takes off 50/15 us emphasis, moves the second channel of a pair that shared one converter, or joins words that were split over two tracks, and ' +
      'writes the result to a new file beside a note. The capture is only read; nothing is overwritten. A master is never made so.',
    examples: [
      ['tapeproof derive p1.wav --de-emphasis', 'p1.derivative.wav'],
      [
        'tapeproof derive adaptor.wav --skew measured --out access.wav',
        'the delay as `examine` measures it, taken out',
      ],
      ['tapeproof derive mix.wav --join 1+5,2+6', 'upper bits on 1 and 2, lower bits on 5 and 6'],
    ],
  })
    .argument('<file>', 'a capture')
    .option('--out <file>', 'where the copy goes (default: beside the capture)')
    .option('--de-emphasis', 'take off 50/15 us emphasis')
    .option('--skew <how>', 'measured, or by how many samples the second of each pair is late: -0.5 or -0.5,0')
    .option('--join <pairs>', 'found, or channels with upper and lower bits: 1+5,2+6')
    .option(...RAW_OPTION)
    .option(...TRAILING_OPTION)
    .action((file, options) =>
      perform(options, async (context) => {
        const { deriveFile } = await import('../../tasks/index.ts');
        const { deriveText } = await import('../../deliver/index.ts');
        const { out, deEmphasis, skew, join, raw, trailing } = options;
        const document = await deriveFile(file, { out, deEmphasis, skew, join, raw, trailing }, context);
        return { document, text: () => deriveText(document), needsPerson: document.clippedSamples > 0 };
      }),
    );
}
