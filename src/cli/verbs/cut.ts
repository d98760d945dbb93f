// tapeproof cut: proposes where programmes begin, and cuts a master by the list that a person has changed.
import { TapeproofError } from '../../base/index.ts';
import { TASKS } from '../../tasks/index.ts';
import { newVerb } from '../command.ts';
import { perform } from '../perform.ts';

export function cutVerb() {
  return newVerb({
    name: 'cut',
    summary: 'where programmes begin, as a list to change; and the parts, which together are the master',
    description:
      'Without --list: proposes where programmes begin in a master (or in the masters of a transfer sheet), from silence, recording starts, jumps of the timecode, ' +
      'changes of level and spectrum, and given starts. With --list: writes the parts, reads them again and proves that they are the master, sample for sample. ' +
      'Ends with 1 while proposals want a listener.',
    examples: [
      ['tapeproof cut result/master.wav --write cuts.yaml', 'the proposals as a list, one line a programme'],
      ['tapeproof cut --list cuts.yaml --out parts', 'the parts, cut by the changed list'],
      [
        'tapeproof cut sheet.yaml --write cuts.csv',
        "the masters of the sheet's result, each programme of the tape by itself",
      ],
    ],
  })
    .argument('[masters...]', 'masters, or one transfer sheet that was run')
    .option('--write <file>', 'write the proposals as a cut list, CSV or YAML by its name')
    .option('--starts <file>', 'starts that are known, such as start IDs: one a line, frames or a time, then a title')
    .option('--gap <seconds>', 'shortest gap of noise that counts (default: 1)')
    .option('--from <folder>', "where the sheet's result lies (default: result beside the sheet)")
    .option('--list <file>', 'cut by this list instead')
    .option('--out <folder>', 'where the parts go')
    .option('--marked', 'with --list: also a copy of each master with every place marked')
    .action((masters, options) =>
      perform(options, async (context) => {
        const { cutPartsText, cutProposalsText } = await import('../../deliver/index.ts');
        const { list, out, marked } = options;
        if (list !== undefined) {
          if (out === undefined || masters.length > 0)
            throw wrongUse(out === undefined ? '--out is missing' : 'masters beside --list');
          const document = await (await TASKS.cutWrite()).writeCuts(list, { out, marked }, context);
          return { document, text: () => cutPartsText(document), needsPerson: false };
        }
        if (masters.length === 0 || out !== undefined)
          throw wrongUse(out === undefined ? 'no master' : '--out without --list');
        const { write, starts, from } = options;
        const { cutNeedsPerson, proposeCuts } = await TASKS.cutPropose();
        const document = await proposeCuts(masters, { write, starts, from, gapSeconds: gapOf(options.gap) }, context);
        return { document, text: () => cutProposalsText(document), needsPerson: cutNeedsPerson(document) };
      }),
    );
}

function gapOf(text: string | undefined): number | undefined {
  if (text === undefined) return undefined;
  const seconds = Number(text);
  if (seconds > 0 && seconds <= 3600) return seconds;
  throw new TapeproofError('input', 'this is no length of a gap', { expected: 'seconds, as in 1.5', found: text });
}

function wrongUse(found: string): TapeproofError {
  return new TapeproofError('input', 'not clear what is to be done', {
    expected: 'masters or a sheet, to propose cuts; or --list FILE --out FOLDER, to make them',
    found,
  });
}
