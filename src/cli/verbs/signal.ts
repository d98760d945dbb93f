// tapeproof signal: test signals as files. Which there are is one table; the judgement of what comes back has verbs of its own.
import { TapeproofError } from '../../base/index.ts';
import { newVerb, wholeNumber } from '../command.ts';
import { perform } from '../perform.ts';

const SIGNALS: readonly string[] = ['measure'];

export function signalVerb() {
  return newVerb({
    name: 'signal',
    summary: 'write a test signal, to be sent through a device and captured again',
    description:
      'measure: the programme that `tapeproof measure` looks for (level ladder, sweep, tones, idle and more, under two minutes). ' +
      'It holds steady tones up to full scale: never listen to it. An existing file is not overwritten.',
    examples: [
      ['tapeproof signal measure --out programme.wav', 'the programme at 48 kHz and 24 bits'],
      ['tapeproof signal measure --rate 44100 --bits 16 --out programme.wav', 'for a device that takes nothing else'],
    ],
  })
    .argument('<kind>', `which signal: ${SIGNALS.join(', ')}`)
    .requiredOption('--out <file>', 'where the signal goes')
    .option('--rate <hz>', 'sampling rate: 32000, 44100, 48000 (default), 88200, 96000')
    .option('--bits <number>', 'word length: 16, 20, 24 (default)', wholeNumber(1))
    .action((kind, options) =>
      perform(options, async (context) => {
        if (!SIGNALS.includes(kind)) {
          throw new TapeproofError('input', `there is no test signal called "${kind}"`, {
            expected: SIGNALS.join(', '),
            found: kind,
          });
        }
        const { writeProgramme } = await import('../../tasks/index.ts');
        const { signalText } = await import('../../deliver/index.ts');
        const document = await writeProgramme(options, context);
        return { document, text: () => signalText(document), needsPerson: false };
      }),
    );
}
