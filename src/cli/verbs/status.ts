// tapeproof status: the flags of one channel-status block, from hex or words.
import { newVerb } from '../command.ts';
import { perform } from '../perform.ts';

export function statusVerb() {
  return newVerb({
    name: 'status',
    summary: 'the fields of a channel-status block, from hex or from words',
    description:
      'Takes apart the 192 bits that a digital interface sends beside the samples (consumer or professional), or puts them together from words, ' +
      'check byte included. For what they mean for a capture, give them to `examine --status` or write them on the sheet.',
    examples: [
      ['tapeproof status 04 82 00 02', 'the first bytes, as interfaces show them'],
      ['tapeproof status professional rate=48000 emphasis=none', 'the same from words, with the whole block in hex'],
    ],
  })
    .argument('<block...>', '1 to 24 bytes in hex, or consumer or professional and FIELD=WORDS')
    .action((words, options) =>
      perform(options, async () => {
        const { decodeStatus, parseStatus } = await import('../../tape/index.ts');
        const { statusDocument, statusText } = await import('../../deliver/index.ts');
        const document = statusDocument(decodeStatus(parseStatus(words.join(' '))));
        return { document, text: () => statusText(document), needsPerson: document.check?.isRight === false };
      }),
    );
}
