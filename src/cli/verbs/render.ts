// tapeproof render: hear what a format does to a recording.
import { TapeproofError } from '../../base/index.ts';
import { TASKS } from '../../tasks/index.ts';
import { newVerb, RAW_OPTION, TRAILING_OPTION, wholeNumber } from '../command.ts';
import { perform } from '../perform.ts';

const DAMAGES = ['none', 'dropouts', 'head'] as const;

export function renderVerb() {
  return newVerb({
    name: 'render',
    summary: 'hear what a tape format does to any recording',
    description:
      'Sends a recording through the rate, filters and word or companding law of a format, with damage if asked, and writes it at the loudness of ' +
      'the original to a new file, beside a note that says it is a derivative. Overwrites nothing.',
    examples: [
      ['tapeproof render song.wav --format eight-mm-pcm-625', 'song.eight-mm-pcm-625.derivative.wav'],
      ['tapeproof render song.wav --format dat-lp-32k --damage head --out worn.wav', 'with one head lost now and then'],
    ],
  })
    .argument('<file>', 'any recording that can be read')
    .requiredOption('--format <id>', 'a format, as `tapeproof formats` lists them')
    .option('--out <file>', 'where the rendering goes (default: beside the original)')
    .option('--rate <hz>', "one of the format's rates (default: its usual one)")
    .option('--damage <kind>', 'none (default), dropouts, head')
    .option('--seed <number>', 'whole number that places the drop-outs', wholeNumber(0))
    .option('--record-gain <db>', 'decibels louder into the format, taken off again behind it')
    .option(...RAW_OPTION)
    .option(...TRAILING_OPTION)
    .action((file, options) =>
      perform(options, async (context) => {
        const damage = DAMAGES.find((one) => one === (options.damage ?? 'none'));
        const recordDb = Number(options.recordGain ?? 0);
        if (!damage || !Number.isFinite(recordDb) || Math.abs(recordDb) > 60) {
          const found = damage ? `${options.recordGain}` : `${options.damage}`;
          const expected = damage ? 'decibels from -60 to 60' : DAMAGES.join(', ');
          throw new TapeproofError('input', damage ? 'no such gain' : 'no such damage', { expected, found });
        }
        const { renderFile } = await TASKS.render();
        const { renderText } = await import('../../deliver/index.ts');
        const { format, out, rate, seed, raw, trailing } = options;
        const document = await renderFile(file, { format, out, rate, damage, seed, recordDb, raw, trailing }, context);
        return { document, text: () => renderText(document), needsPerson: false };
      }),
    );
}
