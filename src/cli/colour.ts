// The only file that names picocolors. Colour is decoration: nothing is said by colour alone, and none is written into a
// pipe or a file, or when NO_COLOR is set (no-color.org: any value but the empty one).
import pc from 'picocolors';

export interface Colours {
  error(text: string): string;
  strong(text: string): string;
  faint(text: string): string;
}

export function coloursFor(stream: { readonly isTTY?: boolean }, env: NodeJS.ProcessEnv = process.env): Colours {
  const isWanted = stream.isTTY === true && !env.NO_COLOR && env.TERM !== 'dumb';
  const { red, bold, dim } = pc.createColors(isWanted);
  return { error: (text) => bold(red(text)), strong: bold, faint: dim };
}
