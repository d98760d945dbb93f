// tapeproof chain: whether a chain changes a bit, from a capture of its test signal; and if it does, what happened.
import { TapeproofError } from '../../base/index.ts';
import { TASKS } from '../../tasks/index.ts';
import { newVerb, RAW_OPTION, TRAILING_OPTION } from '../command.ts';
import { perform } from '../perform.ts';

export function chainVerb() {
  return newVerb({
    name: 'chain',
    summary: 'judge whether a chain changes a bit, from a capture of its test signal',
    description:
      'Finds the signal that `tapeproof signal chain` wrote in the capture and compares every sample. Transparent means that each one came back unchanged in both channels; ' +
      'otherwise it says what happened: gain, dither, a shorter word, offset, polarity, swapped or mixed channels, delay, slips, rate conversion, filter, limiter, noise, wrong bits or samples, or an analogue detour. ' +
      'With the capture alone the signal is made anew from the name it carries. Ends with 0 only for a whole certificate.',
    examples: [
      ['tapeproof chain chain.wav captured.wav', 'the judgement'],
      ['tapeproof chain chain.wav captured.wav --out proof --note "recorder firmware 1.10"', 'the certificate to keep'],
      ['tapeproof chain eight-tracks.wav --channels 3,4', 'a capture alone, two of its channels'],
    ],
  })
    .argument('<files...>', 'the sent file and the captured one; or the captured one alone')
    .option(
      '--channels <list>',
      'channels of the capture that carry the chain (default: those that hold the signal)',
      channelList,
    )
    .option(
      '--note <text>',
      'something to keep on the certificate: firmware, switches, cables (may be given several times)',
      collected,
    )
    .option('--out <folder>', 'write chain.json, chain.txt and chain.html, the certificate')
    .option(...RAW_OPTION)
    .option(...TRAILING_OPTION)
    .action((files, options) =>
      perform(options, async (context) => {
        const { sent, captured } = roles(files);
        const { chainNeedsPerson, judgeChainFiles } = await TASKS.chain();
        const { chainText } = await import('../../deliver/index.ts');
        const { channels, note, out, raw, trailing } = options;
        const date = new Date().toISOString();
        const document = await judgeChainFiles(
          { sent, captured, channels, notes: note, date, out, raw, trailing },
          context,
        );
        return { document, text: () => chainText(document), needsPerson: chainNeedsPerson(document) };
      }),
    );
}

function roles(files: readonly string[]): { sent?: string; captured: string } {
  if (files.length === 1) return { captured: files[0] };
  if (files.length === 2) return { sent: files[0], captured: files[1] };
  throw new TapeproofError('input', 'too many files', {
    expected: 'the sent file and one capture, or one capture',
    found: `${files.length} files`,
    next: 'judge each capture by itself',
  });
}

function collected(text: string, before: readonly string[] = []): readonly string[] {
  return [...before, text];
}

function channelList(text: string): readonly number[] {
  const channels = text.split(',').map(Number);
  if (channels.every((one) => Number.isSafeInteger(one) && one >= 1)) return channels;
  throw new TapeproofError('input', 'not a list of channels', {
    expected: 'numbers from 1 on, as in 3,4',
    found: text,
  });
}
