// The only file that names commander: how the program and its verbs are declared. What a verb does lies in verbs/; how it
// is run, printed and ended in perform.ts.
import { Command, CommanderError, InvalidArgumentError, Option } from '@commander-js/extra-typings';
import { VERSION } from '../base/index.ts';
import { EXIT, type ExitCode, exitCodeHelp } from './exit-codes.ts';

export interface VerbText {
  readonly name: string;
  readonly summary: string;
  /** a paragraph for the verb's own help */
  readonly description: string;
  /** complete command lines, each with what it does */
  readonly examples: readonly (readonly [command: string, effect: string])[];
}

/** How files are read that do not say it themselves; the words are those of the transfer sheet. */
export const RAW_OPTION = [
  '--raw <spec>',
  'the files are bare samples: RATE:CHANNELS:FORMAT[:BYTES TO SKIP], as in 48000:2:s24le',
] as const;
export const TRAILING_OPTION = [
  '--trailing',
  'read audio that lies behind a stated size that is too short (otherwise it is only reported)',
] as const;

export const SEGMENT_OPTION = [
  '--segment <number>',
  'which stretch of a DV stream whose mode changes along the tape, counted from 1',
] as const;

/** A verb with the options all verbs share. Add arguments, options and an action to it. */
export function newVerb(text: VerbText) {
  return new Command(text.name)
    .summary(text.summary)
    .description(text.description)
    .option('--json', 'print the result as JSON for programs (docs/json.md)')
    .option('-q, --quiet', 'no progress and no remarks on standard error; errors are still told')
    .helpOption('-h, --help', 'show this help')
    .addHelpText('after', `\n${exampleHelp(text.examples)}\n\nExit codes:\n${exitCodeHelp()}`)
    .showHelpAfterError(`(tapeproof ${text.name} --help shows what is possible)`)
    .exitOverride();
}

/** Any verb, whatever its arguments and options. */
export interface AnyVerb {
  name(): string;
  summary(): string;
  helpInformation(): string;
}

export function newProgram(verbs: readonly AnyVerb[]): Command {
  const program = new Command('tapeproof')
    .description(
      'From the capture files of a digital audio tape to a multichannel master, with a statement of what is proven and what is not.',
    )
    .version(VERSION, '-V, --version', 'show the version')
    .helpOption('-h, --help', 'show this help')
    .helpCommand('help [verb]', 'show the help of a verb')
    .configureHelp({ subcommandTerm: (verb) => verb.name() })
    .addHelpText(
      'after',
      `\n${exampleHelp([
        ['tapeproof demo', 'an invented tape from captures to report, to see what the result looks like'],
        ['tapeproof run sheet.yaml --out result', "one tape's whole job from its transfer sheet"],
      ])}\n\nExit codes:\n${exitCodeHelp()}`,
    )
    .showHelpAfterError('(tapeproof --help lists the verbs)')
    .exitOverride();
  for (const verb of verbs) program.addCommand(verb as Command);
  return program;
}

/** The exit code of an error that commander raised (and has already told), undefined for any other error. */
export function exitCodeOfUsage(error: unknown): ExitCode | undefined {
  if (!(error instanceof CommanderError)) return undefined;
  return error.exitCode === 0 ? EXIT.done : EXIT.failed;
}

/** An option that takes one of a few words. */
export function choice<Flags extends string, const Words extends readonly string[]>(
  flags: Flags,
  description: string,
  words: Words,
) {
  return new Option(flags, description).choices(words);
}

/** For options that take a whole number; refuses anything else before work begins. */
export function wholeNumber(least: number): (text: string) => number {
  return (text) => {
    const value = Number(text);
    if (!/^\d+$/.test(text) || !Number.isSafeInteger(value) || value < least) {
      throw new InvalidArgumentError(`Expected a whole number, ${least} or more.`);
    }
    return value;
  };
}

function exampleHelp(examples: VerbText['examples']): string {
  const heading = examples.length === 1 ? 'Example:' : 'Examples:';
  return [heading, ...examples.map(([command, effect]) => `  $ ${command}\n      ${effect}`)].join('\n');
}
