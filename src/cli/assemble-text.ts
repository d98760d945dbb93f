// What `assemble` shows: which masters were written, and what of them is proven.
import { wrapText } from '../deliver/index.ts';
import type { AssembleDocument, AssembledMaster } from '../tasks/index.ts';
import { listText, paragraphs, tallyText } from './tally-text.ts';

export function assembleText({ masters, problems, renderedAgain }: AssembleDocument): string {
  return paragraphs([
    ...masters.map(masterText),
    renderedAgain ? wrapText('Rendered again from the edit list: the audio is the same, bit for bit.') : '',
    listText('Problems', problems),
  ]);
}

function masterText(master: AssembledMaster): string {
  const { path, container, bits, frames, channels, digests, editList, tallies } = master;
  return paragraphs([
    listText(path, [
      `${container}, ${channels.length} channels (${channels.join(', ')}), ${bits} bit, ${frames} frames`,
      `SHA-256 of the file   ${digests.file.sha256}`,
      `SHA-256 of the audio  ${digests.audio.sha256}`,
      `edit list             ${editList}`,
    ]),
    tallies.length > 0 ? tallyText(tallies) : '',
  ]);
}
