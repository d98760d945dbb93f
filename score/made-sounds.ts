// Undamaged sound of the kinds that look like losses: very low levels, very smooth curves, digital silence, tones from a
// generator, clipped masters, speech whose pauses were cut to zeros, fades. Half made, half real recordings treated so.
import { rate } from '../src/base/index.ts';
import { Random } from '../src/signal/index.ts';
import type { CleanSound } from './clean-piece.ts';
import { load, type Recording } from './recordings.ts';

const HZ = 48_000;
const SECONDS = 30;
const FRAMES = HZ * SECONDS;
const FULL = 32_767;

export interface MadeSound {
  readonly name: string;
  readonly make: () => CleanSound;
}

export function listMadeSounds(recordings: readonly Recording[], seed: number): MadeSound[] {
  const random = (name: string) => new Random(seed).fork(name);
  const made = (name: string, make: (random: Random) => (i: number) => number): MadeSound => ({
    name: `made: ${name}`,
    make: () => {
      const wave = make(random(name));
      return clean(`made: ${name}`, 'made', [Int32Array.from({ length: FRAMES }, (_, i) => clip(wave(i)))]);
    },
  });
  return [
    made('digital silence', () => () => 0),
    made('silence with the lowest bit toggling', (r) => () => r.integer(2)),
    made('dither alone', (r) => () => Math.round(r.uniform() - r.uniform())),
    ...[-1, -20, -60, -80].flatMap((db) => tones(made, db)),
    made(
      'sweep',
      () => (i) => Math.round(20_000 * Math.sin((2 * Math.PI * (20 * i + (400 * i * i) / FRAMES / 2)) / HZ)),
    ),
    made('triangle wave', () => (i) => Math.round(24_000 * triangle((440.3 * i) / HZ))),
    made('sawtooth wave', () => (i) => Math.round(24_000 * (2 * (((110.7 * i) / HZ) % 1) - 1))),
    made('square wave', () => (i) => (((220.1 * i) / HZ) % 1 < 0.5 ? 12_000 : -12_000)),
    made('two tones clipped', () => (i) => clip(Math.round(50_000 * (tone(997, i) + 0.3 * tone(61, i))))),
    made('soft noise, 3 steps', (r) => () => Math.round(3 * r.gaussian())),
    made('noise below 300 Hz, 40 steps', (r) => smoothNoise(r, 40)),
    made('noise below 300 Hz, 4000 steps', (r) => smoothNoise(r, 4000)),
    made('tone bursts between silences', () => (i) => (i % 24_000 < 9600 ? Math.round(9000 * tone(440, i)) : 0)),
    ...treated(recordings),
  ];
}

type Maker = (name: string, make: (random: Random) => (i: number) => number) => MadeSound;

/** From a generator without dither, and with it. */
function tones(made: Maker, db: number): MadeSound[] {
  const height = FULL * 10 ** (db / 20);
  return [60, 997, 1000, 8000].flatMap((hz) => [
    made(`tone of ${hz} Hz at ${db} dB`, () => (i) => Math.round(height * tone(hz, i))),
    made(
      `tone of ${hz} Hz at ${db} dB, dithered`,
      (r) => (i) => Math.round(height * tone(hz, i) + r.uniform() - r.uniform()),
    ),
  ]);
}

const TREATMENTS: readonly { readonly id: string; readonly treat: (x: Int32Array, hz: number) => Int32Array }[] = [
  { id: '60 dB softer, cut off', treat: (x) => x.map((v) => Math.floor(v / 1000)) },
  { id: '72 dB softer, rounded', treat: (x) => x.map((v) => Math.round(v / 4000)) },
  { id: 'clipped by 12 dB', treat: (x) => x.map((v) => clip(4 * v)) },
  { id: 'clipped by 12 dB, then 1 dB softer', treat: (x) => x.map((v) => Math.round(0.891 * clip(4 * v))) },
  { id: 'pauses gated to zero', treat: (x, hz) => gate(x, hz, 0) },
  { id: 'pauses gated to zero with 2 ms ramps', treat: (x, hz) => gate(x, hz, Math.round(hz / 500)) },
  { id: 'faded in and out', treat: fade },
  { id: 'low-passed', treat: smooth },
];

/** Real recordings of the scoring half, treated: four of speech, four of anything else. */
function treated(recordings: readonly Recording[]): MadeSound[] {
  const ours = recordings.filter((one) => one.half === 'scoring' && one.softerDb === 0);
  const speech = ours.filter((one) => one.kind.startsWith('speech')).slice(0, 4);
  const others = ours.filter((one) => !one.kind.startsWith('speech')).filter((_, i) => i % 6 === 0);
  return [...speech, ...others.slice(0, 4)].flatMap((one) =>
    TREATMENTS.map(({ id, treat }) => {
      const name = `${one.name}, ${id}`;
      const planes = () => load(one, one.rateHz, 16).map((plane) => treat(plane, one.rateHz));
      return { name, make: () => clean(name, 'treated', planes(), one.rateHz) };
    }),
  );
}

function clean(name: string, kind: string, planes: readonly Int32Array[], hz = HZ): CleanSound {
  return { name, half: 'made', kind, isFirst: true, planes, bits: 16, rate: rate(hz) };
}

function tone(hz: number, i: number): number {
  return Math.sin((2 * Math.PI * hz * i) / HZ);
}

function triangle(turns: number): number {
  const phase = turns % 1;
  return phase < 0.5 ? 4 * phase - 1 : 3 - 4 * phase;
}

function clip(value: number): number {
  return Math.max(-FULL - 1, Math.min(FULL, value));
}

/** Two poles at 300 Hz; `height` is about the root mean square. */
function smoothNoise(random: Random, height: number): (i: number) => number {
  const a = Math.exp((-2 * Math.PI * 300) / HZ);
  const gain = height * Math.sqrt((1 - a) / (1 + a)) * 16;
  let [one, two] = [0, 0];
  return () => {
    one = a * one + (1 - a) * gain * random.gaussian();
    two = a * two + (1 - a) * one;
    return Math.round(two);
  };
}

/** An editor's gate: wherever the level stays 34 dB below the loudest for 30 ms, exact zeros, cut hard or with ramps. */
function gate(x: Int32Array, hz: number, rampFrames: number): Int32Array {
  const window = Math.round(0.03 * hz);
  let most = 0;
  for (let i = 0; i < x.length; i++) most = Math.max(most, Math.abs(x[i]));
  const isOpen = new Uint8Array(Math.ceil(x.length / window) + 1);
  for (let i = 0; i < x.length; i++) if (Math.abs(x[i]) > most / 50) isOpen[Math.floor(i / window)] = 1;
  let gain = 0;
  return x.map((v, i) => {
    const k = Math.floor(i / window);
    const wanted = isOpen[k] || isOpen[k + 1] ? 1 : 0;
    gain = rampFrames === 0 ? wanted : Math.max(0, Math.min(1, gain + (wanted ? 1 : -1) / rampFrames));
    return Math.round(v * gain);
  });
}

/** Linear fades over a quarter of the recording at each end, to nothing. */
function fade(x: Int32Array): Int32Array {
  const quarter = x.length / 4;
  return x.map((v, i) => Math.round(v * Math.min(1, i / quarter, (x.length - 1 - i) / quarter)));
}

/** Four times a mean over 32 samples: nothing much above 1 kHz is left. */
function smooth(x: Int32Array): Int32Array {
  let from = Float64Array.from(x);
  for (let pass = 0; pass < 4; pass++) {
    const to = new Float64Array(from.length);
    let sum = 0;
    for (let i = 0; i < from.length; i++) {
      sum += from[i] - (i >= 32 ? from[i - 32] : 0);
      to[i] = sum / 32;
    }
    from = to;
  }
  return Int32Array.from(from, Math.round);
}
