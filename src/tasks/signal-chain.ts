// `signal chain`: a test signal that shows whether a chain changes a bit, as a file, with its caution beside it. Overwrites nothing. The same options give the same
// samples for ever: a lost file is written again.
import { type Block, formatRate, parseRate, rateHz, secondsOf, throwIfStopped } from '../base/index.ts';
import { type SignalDocument, signalText } from '../deliver/index.ts';
import { chainSignal, signalParts, signalSource } from '../measure/index.ts';
import { writeFileSafely } from '../media/index.ts';
import type { TaskContext } from './context.ts';
import { refuseExisting } from './refuse-existing.ts';
import { justified, writeMaster } from './write-master.ts';

export interface ChainSignalOptions {
  readonly out: string;
  /** as `parseRate` reads it; default 48000 */
  readonly rate?: string | undefined;
  /** default 24 */
  readonly bits?: number | undefined;
  /** least length; default the one that proves most */
  readonly seconds?: number | undefined;
}

export async function writeChainSignal(
  options: ChainSignalOptions,
  context: TaskContext = {},
): Promise<SignalDocument> {
  const signal = chainSignal(parseRate(options.rate ?? '48000'), options.bits ?? 24, options.seconds);
  const cautionPath = `${options.out}.txt`;
  await refuseExisting(options.out);
  await refuseExisting(cautionPath);
  const source = signalSource(signal);
  const { frames, channels, rate, bits } = source.info;
  // 20 bits stand left-justified in 24 that are all called valid: many players refuse padded samples
  const shift = bits === 20 ? 4 : 0;
  async function* blocks(): AsyncGenerator<Block> {
    for await (const block of source.blocks({ stop: context.stop })) {
      throwIfStopped(context.stop);
      yield justified(block, shift);
      context.progress?.({
        stage: `writing ${options.out}`,
        done: block.start + block.frames,
        total: frames,
        unit: 'frames',
      });
    }
  }
  const master = await writeMaster(options.out, { channels, rate, bits: bits + shift }, blocks());
  const headerRateHz = Math.round(rateHz(rate));
  const document: SignalDocument = {
    schema: 'tapeproof/signal@1',
    signal: 'chain',
    path: options.out,
    rate,
    bits,
    channels,
    frames,
    digests: master.digests,
    sections: signalParts(signal).map((part) => ({ ...part, channel: 0 as const })),
    warnings: warningsOf(rate, headerRateHz, secondsOf(frames, rate)),
    caution: cautionPath,
  };
  await writeFileSafely(cautionPath, `${signalText(document)}\n`);
  return document;
}

function warningsOf(rate: SignalDocument['rate'], headerRateHz: number, seconds: number): string[] {
  return [
    'Not for listening. The signal is a quiet hiss with clicks of less than 10 ms that reach full scale; they begin softly and grow over the first two seconds. Mute or turn down loudspeakers and headphones before it is played; turn them up only to a level at which the clicks stay comfortable.',
    `Send and capture all of it (${seconds.toFixed(0)} s) with the settings of the real transfer: no gain, dither, fades or rate conversion that the transfer itself does not have. Then judge: tapeproof chain THIS-FILE CAPTURED.`,
    ...(rate.den === 1
      ? []
      : [
          `The file's header can only say ${headerRateHz} Hz. Play it at ${formatRate(rate)}: the clock decides, not the header.`,
        ]),
  ];
}
