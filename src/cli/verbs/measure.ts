// tapeproof measure: what a capture of the test programme says of the device or format it went through.
import { TapeproofError } from '../../base/index.ts';
import { TASKS } from '../../tasks/index.ts';
import { newVerb, RAW_OPTION, TRAILING_OPTION } from '../command.ts';
import { perform } from '../perform.ts';

const PATHS = ['digital', 'analogue', 'unknown'] as const;

export function measureVerb() {
  return newVerb({
    name: 'measure',
    summary: 'measure a device or format from a capture of the test programme',
    description:
      'Finds the programme that `tapeproof signal measure` wrote in each capture, measures everything with uncertainties ' +
      '(dynamic range, THD+N, response, noise, linearity, crosstalk, clipping, clock, delays) and says which word length, law and rate it really is, or that this cannot be told.',
    examples: [
      ['tapeproof measure capture.wav', 'the numbers of one device'],
      ['tapeproof measure tape-a.wav tape-b.wav --compare --out compared', 'one table, one page, CSV, JSON and plots'],
    ],
  })
    .argument('<captures...>', 'captures of the test programme')
    .option('--compare', 'lay several captures side by side')
    .option('--out <folder>', 'write measure.json, .csv, .txt, .html and the plots as SVG')
    .option('--path <kind>', 'how the sound got from the device into the file, if you know: digital, analogue')
    .option(...RAW_OPTION)
    .option(...TRAILING_OPTION)
    .action((captures, options) =>
      perform(options, async (context) => {
        const path = PATHS.find((one) => one === (options.path ?? 'unknown'));
        if (!path) {
          throw new TapeproofError('input', 'no such path', { expected: PATHS.join(', '), found: options.path ?? '' });
        }
        const { measureFiles, measureNeedsPerson } = await TASKS.measure();
        const { measureText } = await import('../../deliver/index.ts');
        const { out, raw, trailing } = options;
        const compare = options.compare ?? false;
        const document = await measureFiles(captures, { path, compare, out, raw, trailing }, context);
        return { document, text: () => measureText(document, { compare }), needsPerson: measureNeedsPerson(document) };
      }),
    );
}
