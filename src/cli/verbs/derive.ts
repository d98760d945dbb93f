// tapeproof derive: a corrected copy that names its parent.

import { TASKS } from '../../tasks/index.ts';
import { newVerb, RAW_OPTION, SEGMENT_OPTION, TRAILING_OPTION, wholeNumber } from '../command.ts';
import { perform } from '../perform.ts';

export function deriveVerb() {
  return newVerb({
    name: 'derive',
    summary: 'a corrected copy of a capture, as a derivative that names its parent',
    description:
      'Takes off 50/15 us emphasis, moves the second channel of a pair that shared one converter, joins words that were split over two tracks, or covers the ' +
      'error codes of a tape, and ' +
      'writes the result to a new file beside a note. The capture is only read; nothing is overwritten. A master is never made so.',
    examples: [
      ['tapeproof derive p1.wav --de-emphasis', 'p1.derivative.wav'],
      [
        'tapeproof derive adaptor.wav --skew measured --out access.wav',
        'the delay as `examine` measures it, taken out',
      ],
      ['tapeproof derive tape.dv --cover tape', 'the error codes of the tape covered for listening'],
      ['tapeproof derive mix.wav --join 1+5,2+6', 'upper bits on 1 and 2, lower bits on 5 and 6'],
    ],
  })
    .argument('<file>', 'a capture')
    .option('--out <file>', 'where the copy goes (default: beside the capture)')
    .option('--de-emphasis', 'take off 50/15 us emphasis')
    .option('--skew <how>', 'measured, or by how many samples the second of each pair is late: -0.5 or -0.5,0')
    .option('--join <pairs>', 'found, or channels with upper and lower bits: 1+5,2+6')
    .option('--cover <codes>', 'tape, or the samples that mean "no valid sample" (-32768), covered by straight lines')
    .option(...RAW_OPTION)
    .option(...TRAILING_OPTION)
    .option(...SEGMENT_OPTION, wholeNumber(1))
    .action((file, options) =>
      perform(options, async (context) => {
        const { deriveFile } = await TASKS.derive();
        const { deriveText } = await import('../../deliver/index.ts');
        const { out, deEmphasis, skew, join, cover, raw, trailing, segment } = options;
        const document = await deriveFile(
          file,
          { out, deEmphasis, skew, join, cover, raw, trailing, segment },
          context,
        );
        return {
          document,
          text: () => deriveText(document),
          needsPerson: document.clippedSamples > 0 || document.cautions.length > 0,
        };
      }),
    );
}
