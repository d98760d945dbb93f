// The chain judged on files: what sox and ffmpeg do to the signal, as independent makers of faults, detours through analogue-like chains, and everything that must
// be refused. The truth of each case is the command that made it; tolerances are those the findings state of themselves, or the step of the tool's own numbers.
import { execFileSync } from 'node:child_process';
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { beforeAll, describe, expect, it } from 'vitest';
import { tapeproofInside } from '../cli/testing/in-process.ts';
import { type ChainDocument, chainText } from '../deliver/index.ts';
import { findTool, needTool, tempFolder } from '../media/testing/tools.ts';
import { judgeChainFiles } from './chain-files.ts';
import { writeChainSignal } from './signal-chain.ts';

const DATE = '2026-11-29T12:00:00.000Z';
let folder = '';
const at = (name: string) => join(folder, name);

beforeAll(async () => {
  folder = await tempFolder();
  await writeChainSignal({ out: at('s24.wav'), bits: 24, seconds: 1 });
  await writeChainSignal({ out: at('s16.wav'), bits: 16, seconds: 1 });
  await writeChainSignal({ out: at('s20.wav'), bits: 20, seconds: 1 });
});

type Finding = ChainDocument['findings'][number];
type Kind = Finding['kind'];

function the<K extends Kind>(document: ChainDocument, kind: K): Extract<Finding, { kind: K }> {
  const found = document.findings.find((one): one is Extract<Finding, { kind: K }> => one.kind === kind);
  if (!found) throw new Error(`no ${kind}`);
  return found;
}

const kindsOf = (document: ChainDocument) => document.findings.map((finding) => finding.kind).sort();
/** without the sent file: it was judged once and for all when the tests of the sent file ran */
const judged = (name: string) => judgeChainFiles({ captured: at(name), date: DATE });
/** sox without dither of its own; `format` for the file it writes */
const sox = (from: string, to: string, effects: string, ...format: string[]) =>
  execFileSync('sox', ['-V1', '-D', at(from), ...format, at(to), ...effects.split(' ').filter(Boolean)]);
const soxDithering = (from: string, to: string, effects: string) =>
  execFileSync('sox', ['-V1', at(from), '-b', '16', at(to), ...effects.split(' ')]);
const ffmpeg = (from: string, to: string, ...options: string[]) =>
  execFileSync('ffmpeg', ['-v', 'error', '-i', at(from), ...options.flatMap((one) => one.split(' ')), at(to)]);
const filter = (word: string, text: string) => ['-c:a', `pcm_s${word}le`, '-af', text];

interface Made {
  readonly name: string;
  readonly tool: 'sox' | 'ffmpeg';
  readonly make: (to: string) => unknown;
  readonly kinds: readonly Kind[];
  readonly check?: (document: ChainDocument) => void;
}

const gain = (db: number, within: number) => (document: ChainDocument) =>
  expect(Math.abs(the(document, 'gain').db - db)).toBeLessThan(within);
const ppm = (truth: number) => (document: ChainDocument) => {
  const { ppm: found, ppmUncertainty } = the(document, 'rate-conversion');
  expect(Math.abs(found - truth)).toBeLessThan(ppmUncertainty);
  expect(ppmUncertainty).toBeLessThan(0.1);
};
const edge = (hz: number) => (document: ChainDocument) =>
  expect(Math.abs((the(document, 'filter').response.highEdgeHz ?? 0) / hz - 1)).toBeLessThan(0.01);

const MADE: readonly Made[] = [
  {
    name: 'vol 0.5',
    tool: 'sox',
    make: (to) => sox('s24.wav', to, 'vol 0.5'),
    kinds: ['gain'],
    check: (d) => expect(the(d, 'gain').fraction).toEqual({ num: 1, den: 2 }),
  },
  {
    name: 'gain -3 at 16 bits',
    tool: 'sox',
    make: (to) => sox('s16.wav', to, 'gain -3'),
    kinds: ['gain'],
    check: gain(-3, 1e-6),
  },
  {
    name: 'gain -3 at 24 bits, rounded twice',
    tool: 'sox',
    make: (to) => sox('s24.wav', to, 'gain -3'),
    kinds: ['gain'],
    check: gain(-3, 1e-6),
  },
  {
    name: 'gain and dither',
    tool: 'sox',
    make: (to) => soxDithering('s24.wav', to, 'gain -3 dither'),
    kinds: ['dither', 'gain', 'truncation'],
    check: gain(-3, 1e-3),
  },
  {
    name: 'triangular dither',
    tool: 'sox',
    make: (to) => soxDithering('s24.wav', to, 'dither'),
    kinds: ['dither', 'truncation'],
    check: (d) => expect(the(d, 'dither').shape).toBe('triangular'),
  },
  {
    name: 'shaped dither',
    tool: 'sox',
    make: (to) => soxDithering('s24.wav', to, 'dither -s'),
    kinds: ['dither', 'truncation'],
    check: (d) => expect(the(d, 'dither').shape).toBe('shaped'),
  },
  {
    name: 'rounding to 16 bits',
    tool: 'sox',
    make: (to) => sox('s24.wav', to, '', '-b', '16'),
    kinds: ['clip', 'truncation'],
    check: (d) => expect(the(d, 'truncation').bits).toBe(16),
  },
  { name: 'swapped', tool: 'sox', make: (to) => sox('s16.wav', to, 'remix 2 1'), kinds: ['swap'] },
  {
    name: 'swapped and turned',
    tool: 'sox',
    make: (to) => sox('s24.wav', to, 'remix 2v-1 1v-1'),
    kinds: ['clip', 'polarity', 'swap'],
  },
  { name: 'mixed to mono', tool: 'sox', make: (to) => sox('s24.wav', to, 'remix 1,2 1,2'), kinds: ['gain', 'mix'] },
  {
    name: 'second channel 5 frames late',
    tool: 'sox',
    make: (to) => sox('s16.wav', to, 'delay 0 5s'),
    kinds: ['delay'],
    check: (d) => expect(the(d, 'delay').frames).toBe(5),
  },
  {
    name: 'a frame of silence put in',
    tool: 'sox',
    make: (to) => sox('s16.wav', to, 'pad 1s@150000s'),
    kinds: ['errors', 'slips'],
    check: (d) => expect(the(d, 'slips').net).toBe(1),
  },
  {
    name: 'low pass',
    tool: 'sox',
    make: (to) => sox('s24.wav', to, 'gain -1 lowpass 6000'),
    kinds: ['filter', 'gain'],
    check: edge(6000),
  },
  {
    name: 'high pass',
    tool: 'sox',
    make: (to) => sox('s24.wav', to, 'gain -1 highpass 100'),
    kinds: ['filter', 'gain'],
    check: (d) => expect(Math.abs((the(d, 'filter').response.lowEdgeHz ?? 0) - 100)).toBeLessThan(3),
  },
  {
    name: 'equaliser',
    tool: 'sox',
    make: (to) => sox('s24.wav', to, 'gain -7 equalizer 3000 1q 6'),
    kinds: ['filter', 'gain'],
    check: (d) => expect(Math.abs(the(d, 'filter').response.rippleDb - 6)).toBeLessThan(0.05),
  },
  {
    name: 'linear phase low pass',
    tool: 'sox',
    make: (to) => sox('s16.wav', to, 'gain -1 sinc -15000'),
    kinds: ['filter', 'gain'],
  },
  {
    name: 'compander as limiter',
    tool: 'sox',
    make: (to) => sox('s24.wav', to, 'compand 0.005,0.1 -60,-60,-20,-20,0,-8'),
    kinds: ['limiter'],
  },
  {
    name: '48 to 44.1 kHz',
    tool: 'sox',
    make: (to) => sox('s24.wav', to, 'gain -1 rate -v 44100'),
    kinds: ['gain', 'rate-conversion'],
    check: (d) => expect(the(d, 'rate-conversion').nominal).toEqual({ num: 147, den: 160 }),
  },
  {
    name: 'level and 48 to 44.1 kHz by the usual filter',
    tool: 'sox',
    make: (to) => sox('s24.wav', to, 'vol 0.5 rate 44100'),
    kinds: ['gain', 'rate-conversion'],
  },
  {
    name: '48 to 32 kHz at 16 bits',
    tool: 'sox',
    make: (to) => sox('s16.wav', to, 'rate -v 32000'),
    kinds: ['rate-conversion'],
    check: (d) => expect(the(d, 'rate-conversion').nominal).toEqual({ num: 2, den: 3 }),
  },
  {
    name: '48 to 96 kHz',
    tool: 'sox',
    make: (to) => sox('s16.wav', to, 'rate -v 96000'),
    kinds: ['rate-conversion'],
    check: (d) => expect(the(d, 'rate-conversion').ratio).toBeCloseTo(2, 7),
  },
  {
    name: 'clocks 50 ppm apart',
    tool: 'sox',
    make: (to) => sox('s24.wav', to, 'speed 1.00005 rate -v 48000'),
    kinds: ['rate-conversion'],
    check: ppm((1 / 1.00005 - 1) * 1e6),
  },
  {
    name: 'volume 0.7',
    tool: 'ffmpeg',
    make: (to) => ffmpeg('s16.wav', to, ...filter('16', 'volume=0.7')),
    kinds: ['gain'],
    check: gain(20 * Math.log10(0.7), 1e-3),
  },
  {
    name: 'triangular dither',
    tool: 'ffmpeg',
    make: (to) => ffmpeg('s24.wav', to, ...filter('16', 'aresample=osf=s16:dither_method=triangular')),
    kinds: ['dither', 'truncation'],
  },
  {
    name: 'rectangular dither',
    tool: 'ffmpeg',
    make: (to) => ffmpeg('s24.wav', to, ...filter('16', 'aresample=osf=s16:dither_method=rectangular')),
    kinds: ['dither', 'truncation'],
    check: (d) => expect(the(d, 'dither').shape).toBe('rectangular'),
  },
  {
    name: 'cut to 16 bits',
    tool: 'ffmpeg',
    make: (to) => ffmpeg('s24.wav', to, '-c:a pcm_s16le'),
    kinds: ['truncation'],
    check: (d) => expect(the(d, 'truncation')).toMatchObject({ bits: 16, how: 'cut' }),
  },
  {
    name: 'limiter',
    tool: 'ffmpeg',
    make: (to) => ffmpeg('s24.wav', to, ...filter('24', 'alimiter=limit=0.5:level=0')),
    kinds: ['limiter'],
  },
  {
    name: 'A-law and back',
    tool: 'ffmpeg',
    make: (to) => {
      ffmpeg('s16.wav', 'alaw.au', '-c:a pcm_alaw');
      ffmpeg('alaw.au', to, '-c:a pcm_s16le');
    },
    kinds: ['dc', 'gain', 'other'],
  },
  {
    name: '48 to 44.1 kHz with the default resampler, which aliases',
    tool: 'ffmpeg',
    make: (to) => ffmpeg('s16.wav', to, '-ar 44100'),
    kinds: ['other', 'rate-conversion'],
  },
  {
    name: 'swapped',
    tool: 'ffmpeg',
    make: (to) => ffmpeg('s24.wav', to, ...filter('24', 'pan=stereo|c0=c1|c1=c0')),
    kinds: ['swap'],
  },
];

describe('faults made by other programs', () => {
  it.each(MADE)('$tool: $name', async ({ name, tool, make, kinds, check }) => {
    if (!findTool(tool)) return;
    const to = `${tool}-${name.replaceAll(/\W+/g, '-')}.wav`;
    make(to);
    const document = await judged(to);
    expect(kindsOf(document)).toEqual([...kinds].sort());
    expect(document.verdict).toBe('changed');
    check?.(document);
  });

  it('has the tools that make them', (context) => {
    needTool(context, 'sox');
    needTool(context, 'ffmpeg');
  });
});

describe('detours that act as analogue ones do', () => {
  // noise of sox is even over ± vol: rms vol / sqrt 3
  const DETOURS = [
    { speed: 1.00002, vol: 0.002, mix: 'remix 1 2', more: [] as Kind[] },
    { speed: 0.9999, vol: 0.0002, mix: 'remix 2v-1 1v-1', more: ['polarity', 'swap'] as Kind[] },
    { speed: 1, vol: 0.00002, mix: 'remix 1 2', more: [] as Kind[] },
  ];
  it.each(DETOURS)('speed $speed, noise $vol, $mix', async ({ speed, vol, mix, more }) => {
    if (!findTool('sox')) return;
    execFileSync('sox', [
      '-V1',
      '-D',
      '-R',
      '-n',
      '-r',
      '48000',
      '-c',
      '2',
      '-b',
      '24',
      at('noise.wav'),
      'synth',
      '6.45',
      'whitenoise',
      'vol',
      `${vol}`,
    ]);
    const way = `gain -2 speed ${speed} rate -v 48000 lowpass -1 19000 highpass -1 3 ${mix}`;
    sox('s24.wav', 'way.wav', way);
    execFileSync('sox', ['-V1', '-D', '-m', '-v', '1', at('way.wav'), '-v', '1', at('noise.wav'), at('detour.wav')]);
    const document = await judged('detour.wav');
    expect(document.verdict).toBe('analogue');
    const clock: Kind[] = speed === 1 ? [] : ['rate-conversion'];
    expect(kindsOf(document)).toEqual([...clock, ...more, 'filter', 'gain', 'noise'].sort());
    expect(Math.abs(the(document, 'gain').db + 2)).toBeLessThan(0.2);
    // three tenths of a decibel: 7000 samples of silence know a level to 0.15 dB with factor 3, the fit adds as much
    expect(Math.abs(the(document, 'noise').db - 20 * Math.log10((vol / Math.sqrt(3)) * Math.SQRT2))).toBeLessThan(0.3);
    if (speed !== 1) ppm((1 / speed - 1) * 1e6)(document);
    expect(chainText(document)).toMatch(/^Not transparent: an analogue detour/);
  });
});

describe('the certificate', () => {
  it('holds digests, settings, notes and limits, in three faces', async () => {
    if (!findTool('sox')) return;
    sox('s24.wav', 'whole.wav', 'pad 1.5 0.5');
    const out = at('proof');
    const { code, out: text } = await tapeproofInside([
      'chain',
      at('s24.wav'),
      at('whole.wav'),
      '--quiet',
      '--out',
      out,
      '--note',
      'recorder firmware 1.10',
      '--note',
      'dither <off>',
    ]);
    expect(code).toBe(0);
    expect(text).toMatch(/^Transparent: each of the 614 400 samples/);
    const document: ChainDocument = JSON.parse(readFileSync(join(out, 'chain.json'), 'utf8'));
    expect(document.notes).toEqual(['recorder firmware 1.10', 'dither <off>']);
    expect(document.sent?.digests.file.sha256).toMatch(/^[0-9a-f]{64}$/);
    expect(document.sent?.digests.file.sha256).not.toBe(document.captured.digests.file.sha256);
    // -ln 0.05 is 2.996: the rule of three
    expect(document.proof.seenFaultRate).toBeCloseTo(3 / 614_400, 12);
    const page = readFileSync(join(out, 'chain.html'), 'utf8');
    expect(page).toContain('Certificate of a transparent chain');
    expect(page).toContain('dither &lt;off&gt;');
    expect(page).toContain(document.captured.digests.audio.sha256);
  });

  it('20 bits in a file of 24, at a rate of its own', async () => {
    if (!findTool('sox')) return;
    sox('s20.wav', 'whole20.wav', 'pad 0.25 0.25');
    const document = await judgeChainFiles({ sent: at('s20.wav'), captured: at('whole20.wav'), date: DATE });
    expect(document).toMatchObject({ verdict: 'transparent', signal: { bits: 20 }, proof: { bitsMoved: 20 } });
  });
});

describe('what is refused, and what is no certificate', () => {
  const chain = (...args: string[]) =>
    tapeproofInside(['chain', ...args.map((arg) => (arg.endsWith('.wav') ? at(arg) : arg)), '--quiet']);
  beforeAll(() => {
    if (!findTool('sox')) return;
    execFileSync('sox', [
      '-V1',
      '-D',
      '-R',
      '-n',
      '-r',
      '48000',
      '-c',
      '2',
      '-b',
      '24',
      at('pink.wav'),
      'synth',
      '8',
      'pinknoise',
    ]);
    execFileSync('sox', ['-V1', '-D', '-n', '-r', '48000', '-c', '2', '-b', '24', at('silent.wav'), 'trim', '0', '8']);
    sox('s24.wav', 'cut-end.wav', 'trim 0 250000s');
    sox('s24.wav', 'cut-start.wav', 'trim 100000s');
    sox('s24.wav', 'scrap.wav', 'trim 100000s 30000s');
    sox('s24.wav', 'edited.wav', 'vol 0.99');
    sox('s24.wav', 'loud.wav', 'gain 12');
    execFileSync('cp', [at('s24.wav'), at('copy.wav')]);
    execFileSync('sox', ['-V1', '-D', '-r', '44100', at('s24.wav'), at('label.wav')]);
  });

  it.each([
    ['a capture without the signal', ['s24.wav', 'pink.wav'], /signal is not in this capture/],
    ['silence', ['s24.wav', 'silent.wav'], /silent/],
    ['too little of it', ['s24.wav', 'scrap.wav'], /too little of the signal/],
    ['another signal', ['s16.wav', 'copy.wav'], /another chain signal/],
    ['a sent file that is no signal', ['pink.wav', 'copy.wav'], /no chain signal/],
    ['a sent file that was changed', ['edited.wav', 'copy.wav'], /not the signal as it was written/],
    ['one file for both', ['s24.wav', 's24.wav'], /one and the same/],
    ['a channel there is not', ['s24.wav', 'copy.wav', '--channels', '1,9'], /no such channel/],
    ['a list that is none', ['copy.wav', '--channels', 'left'], /list of channels/],
    ['three files', ['s24.wav', 'copy.wav', 'pink.wav'], /too many files/],
    ['a file that is not there', ['nowhere.wav'], /nowhere/],
  ] as const)('%s ends with 2 and says why', async (_, args, message) => {
    if (!findTool('sox')) return;
    const { code, out, err } = await chain(...args);
    expect([code, out]).toEqual([2, '']);
    expect(err).toMatch(message);
  });

  it.each([
    ['an end that is missing', ['cut-end.wav'], /^Not certified/],
    ['a beginning that is missing', ['s24.wav', 'cut-start.wav'], /^Not certified/],
    ['a byte for byte copy', ['s24.wav', 'copy.wav'], /captured, or copied\?/],
    ['a wrong rate in the header', ['label.wav'], /wrong rate in the header/],
    ['a clipped capture', ['loud.wav'], /clipping/],
  ] as const)('%s ends with 1 and is told', async (_, args, message) => {
    if (!findTool('sox')) return;
    const { code, out } = await chain(...args);
    expect(code).toBe(1);
    expect(out).toMatch(message);
    if (!args.some((arg) => arg === 'copy.wav')) expect(out).not.toMatch(/^Transparent/);
  });
});
