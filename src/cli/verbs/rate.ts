// tapeproof rate: the true sampling rate of a capture against its header.

import { TASKS } from '../../tasks/index.ts';
import { newVerb, RAW_OPTION, TRAILING_OPTION } from '../command.ts';
import { perform } from '../perform.ts';

export function rateVerb() {
  return newVerb({
    name: 'rate',
    summary: 'the true sampling rate of a capture, whatever its header says',
    description:
      'Weighs what is in the recording (lines of a picture, hum, the pilot of stereo radio, the rhythm of losses, timecode) and what you give (a clock, a ' +
      'capture of known rate), names the exact rate or the deviation, or says that it cannot be told; and finds where the rate changes along the file.',
    examples: [
      ['tapeproof rate adaptor.wav', 'from the recording alone'],
      ['tapeproof rate adaptor.wav --clock 1:02:03.5+-0.2', 'how long the capture lasted by a good clock'],
      ['tapeproof rate north.wav --reference south.wav', 'the same sound from a recorder whose clock is trusted'],
    ],
  })
    .argument('<file>', 'a capture')
    .option('--clock <duration>', 'how long the whole capture lasted: h:mm:ss+-SECONDS')
    .option('--reference <file>', 'a capture of the same sound whose stated rate is trusted')
    .option('--format <id>', 'what the tape is said to be (a claim, told beside the evidence)')
    .option('--status <status>', 'what the interface said: hex, words, or the path of a log')
    .option(...RAW_OPTION)
    .option(...TRAILING_OPTION)
    .action((file, options) =>
      perform(options, async (context) => {
        const { rateFile, rateNeedsPerson } = await TASKS.rate();
        const { rateText } = await import('../../deliver/index.ts');
        const { clock, reference, format, status, raw, trailing } = options;
        const document = await rateFile(file, { clock, reference, format, status, raw, trailing }, context);
        return { document, text: () => rateText(document), needsPerson: rateNeedsPerson(document) };
      }),
    );
}
