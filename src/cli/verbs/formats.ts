// tapeproof formats: what is known of a tape format, and how surely.
import { newVerb } from '../command.ts';
import { perform } from '../perform.ts';

export function formatsVerb() {
  return newVerb({
    name: 'formats',
    summary: 'what is known of a tape format, and how surely',
    description: 'Without an id: the list of formats. With one: its sheet, each value with source and certainty.',
    examples: [
      ['tapeproof formats', 'the list'],
      ['tapeproof formats dv-525-48k', 'one sheet'],
      ['tapeproof formats dat', 'the sheets of a family'],
    ],
  })
    .argument('[id]', 'a format or a family of formats, as the list names them')
    .action((id, options) =>
      perform(options, async () => {
        const { findFormat, listFormats } = await import('../../tape/index.ts');
        const { formatListText, formatSheetText, formatsDocument } = await import('../../deliver/index.ts');
        const family = listFormats().filter((format) => format.family === id);
        const chosen = id === undefined ? listFormats() : family.length > 0 ? family : [findFormat(id)];
        return {
          document: formatsDocument(chosen),
          text: () => (id === undefined ? formatListText(chosen) : chosen.map(formatSheetText).join('\n\n')),
          needsPerson: false,
        };
      }),
    );
}
