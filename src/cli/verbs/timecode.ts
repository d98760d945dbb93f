// tapeproof timecode: what linear timecode is in capture files, and which sample each of its frames begins at.

import { TASKS } from '../../tasks/index.ts';
import { newVerb, RAW_OPTION, TRAILING_OPTION, wholeNumber } from '../command.ts';
import { perform } from '../perform.ts';

export function timecodeVerb() {
  return newVerb({
    name: 'timecode',
    summary: 'the timecode in capture files, and which sample each frame begins at',
    description:
      'Looks in every channel for linear timecode (LTC), at any level, from a tenth to ten times its speed and either way. ' +
      'Says from where to where it runs, its rate and drop flag, its speed and how its clock stands to that of the file, jumps, gaps, ' +
      'user bits and the map between frames and samples. Ends with 1 where a file has none.',
    examples: [
      ['tapeproof timecode p1-north.wav', 'what each channel with timecode says'],
      ['tapeproof timecode p1-north.wav --channel 2 --csv > words.csv', 'every word of channel 2, one a line'],
    ],
  })
    .argument('<files...>', 'capture files')
    .option('--channel <number>', 'look in this file channel only', wholeNumber(1))
    .option('--csv', 'print every word as comma-separated values')
    .option(...RAW_OPTION)
    .option(...TRAILING_OPTION)
    .action((files, options) =>
      perform(options, async (context) => {
        const { timecodeFiles, timecodeNeedsPerson } = await TASKS.timecode();
        const { timecodeCsv, timecodeText } = await import('../../deliver/index.ts');
        const { channel, csv: eachWord, raw, trailing } = options;
        const document = await timecodeFiles(files, { channel, eachWord, raw, trailing }, context);
        const text = () => (eachWord ? timecodeCsv(document) : timecodeText(document));
        return { document, text, needsPerson: timecodeNeedsPerson(document) };
      }),
    );
}
