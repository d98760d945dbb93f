// tapeproof signal: test signals as files. Which there are is one table; the judgement of what comes back has verbs of its own.
import { TapeproofError } from '../../base/index.ts';
import type { SignalDocument } from '../../deliver/index.ts';
import { TASKS } from '../../tasks/index.ts';
import { newVerb, wholeNumber } from '../command.ts';
import { perform, type WorkContext } from '../perform.ts';

interface SignalOptions {
  readonly out: string;
  readonly rate?: string | undefined;
  readonly bits?: number | undefined;
  readonly seconds?: number | undefined;
  readonly from?: string | undefined;
  readonly fps?: string | undefined;
  readonly user?: string | undefined;
}

type Writer = (options: SignalOptions, context: WorkContext) => Promise<SignalDocument>;

/** Another signal is another line here. */
const SIGNALS: Readonly<Record<string, () => Promise<Writer>>> = {
  chain: async () => (await TASKS.writeChainSignal()).writeChainSignal,
  measure: async () => (await TASKS.writeProgramme()).writeProgramme,
  timecode: async () => (await TASKS.writeTimecode()).writeTimecodeSignal,
};

export function signalVerb() {
  return newVerb({
    name: 'signal',
    summary: 'write a test signal, to be sent through a device and captured again',
    description:
      'chain: to see whether a chain changes a bit; `tapeproof chain` judges what comes back. A quiet hiss with clicks of full scale, each under 10 ms; a text with a caution is written beside it. ' +
      'measure: the programme that `tapeproof measure` looks for (level ladder, sweep, tones, idle and more, under two minutes). ' +
      'It holds steady tones up to full scale: never listen to it. timecode: linear timecode, for spare inputs and tests. An existing file is not overwritten.',
    examples: [
      ['tapeproof signal chain --bits 16 --rate 44100 --out chain.wav', 'for a chain that carries 16 bits at 44.1 kHz'],
      ['tapeproof signal measure --out programme.wav', 'the programme at 48 kHz and 24 bits'],
      ['tapeproof signal timecode --from "10:00:00;00" --out code.wav', 'a minute of drop-frame timecode'],
      ['tapeproof signal measure --rate 44100 --bits 16 --out programme.wav', 'for a device that takes nothing else'],
    ],
  })
    .argument('<kind>', `which signal: ${Object.keys(SIGNALS).join(', ')}`)
    .requiredOption('--out <file>', 'where the signal goes')
    .option(
      '--rate <hz>',
      'sampling rate, default 48000. measure: 32000, 44100, 48000, 88200, 96000; chain: any from 28801 to 400000, also as a fraction (4500000/143)',
    )
    .option('--bits <number>', 'word length: 16, 20, 24 (default)', wholeNumber(1))
    .option(
      '--seconds <number>',
      'chain: at least this long, to catch rarer faults (default: 3.5 million frames); timecode: how long (default: 60)',
      wholeNumber(1),
    )
    .option('--from <timecode>', 'timecode: the first frame, with a semicolon for drop (default: 01:00:00:00)')
    .option('--fps <number>', 'timecode: 23.976, 24, 25, 29.97 or 30 (default: 25, with drop 29.97)')
    .option('--user <digits>', 'timecode: user bits, eight hexadecimal digits')
    .action((kind, options) =>
      perform(options, async (context) => {
        if (!Object.hasOwn(SIGNALS, kind)) {
          throw new TapeproofError('input', `there is no test signal called "${kind}"`, {
            expected: Object.keys(SIGNALS).join(', '),
            found: kind,
          });
        }
        if (options.seconds !== undefined && kind === 'measure') {
          throw new TapeproofError('input', `the signal "${kind}" has a fixed length`, {
            found: `--seconds ${options.seconds}`,
          });
        }
        const code = [options.from, options.fps, options.user].find((one) => one !== undefined);
        if (code !== undefined && kind !== 'timecode') {
          const expected = 'only with timecode: --from, --fps, --user';
          throw new TapeproofError('input', `the signal "${kind}" holds no timecode`, { expected, found: code });
        }
        const write = await SIGNALS[kind]();
        const { signalText } = await import('../../deliver/index.ts');
        const document = await write(options, context);
        return { document, text: () => signalText(document), needsPerson: false };
      }),
    );
}
