// The command line end to end: the built program as a process, on real files in a temporary folder.
import { type ChildProcess, spawn, spawnSync } from 'node:child_process';
import { chmodSync, closeSync, ftruncateSync, openSync, readFileSync, writeFileSync, writeSync } from 'node:fs';
import { join, resolve } from 'node:path';
import { beforeAll, describe, expect, it } from 'vitest';
import { tempFolder } from '../media/testing/tools.ts';
import { EXIT, EXIT_CODES } from './exit-codes.ts';
import { allVerbs } from './verbs/index.ts';

const root = resolve(import.meta.dirname, '../..');
const bin = join(root, 'bin/tapeproof.mjs');
const verbs = allVerbs().map((verb) => verb.name());
const ESCAPE = '\u001b';

interface Ended {
  readonly code: number | null;
  readonly out: string;
  readonly err: string;
}

function start(args: readonly string[], env: NodeJS.ProcessEnv = {}): ChildProcess {
  return spawn(process.execPath, [bin, ...args], {
    env: { ...process.env, ...env },
    stdio: ['ignore', 'pipe', 'pipe'],
  });
}

async function ended(child: ChildProcess): Promise<Ended> {
  let out = '';
  let err = '';
  child.stdout?.setEncoding('utf8').on('data', (text) => (out += text));
  child.stderr?.setEncoding('utf8').on('data', (text) => (err += text));
  const code = await new Promise<number | null>((done) => child.on('close', done));
  return { code, out, err };
}

const tapeproof = (args: readonly string[], env?: NodeJS.ProcessEnv) => ended(start(args, env));

/** 44 bytes of a plain WAVE header for 16-bit PCM (multimedia programming interface 1.0, chapter 3). */
function waveHeader(channels: number, frames: number): Buffer {
  const bytes = frames * channels * 2;
  const header = Buffer.alloc(44);
  header.write('RIFF', 0);
  header.writeUInt32LE(36 + bytes, 4);
  header.write('WAVEfmt ', 8);
  header.writeUInt32LE(16, 16);
  header.writeUInt16LE(1, 20);
  header.writeUInt16LE(channels, 22);
  header.writeUInt32LE(48_000, 24);
  header.writeUInt32LE(48_000 * channels * 2, 28);
  header.writeUInt16LE(channels * 2, 32);
  header.writeUInt16LE(16, 34);
  header.write('data', 36);
  header.writeUInt32LE(bytes, 40);
  return header;
}

/** One second and a half of noise, `lateBy` frames into a common sequence: two reads that began at different moments. */
function writeRead(path: string, lateBy: number): string {
  const frames = 72_000;
  const data = Buffer.alloc(frames * 2);
  let state = 1;
  for (let i = 0; i < frames + lateBy; i++) {
    state = (Math.imul(state, 1_664_525) + 1_013_904_223) >>> 0;
    if (i >= lateBy) data.writeInt16LE((state >>> 18) - 8192, (i - lateBy) * 2);
  }
  writeFileSync(path, Buffer.concat([waveHeader(1, frames), data]));
  return path;
}

/** Almost 4 GB of digital silence that takes no room on the disk: work that lasts. */
function writeLongCapture(path: string): string {
  const frames = 240_000_000;
  const file = openSync(path, 'w');
  writeSync(file, waveHeader(8, frames));
  ftruncateSync(file, 44 + frames * 16);
  closeSync(file);
  return path;
}

beforeAll(() => {
  const built = spawnSync(process.execPath, [join(root, 'scripts/setup.mjs')], { encoding: 'utf8' });
  expect(built.status, built.stderr).toBe(0);
});

describe('help', () => {
  it('lists every verb and the exit codes, on standard output', async () => {
    const { code, out, err } = await tapeproof(['--help']);
    expect([code, err]).toEqual([EXIT.done, '']);
    for (const verb of verbs) expect(out).toContain(`\n  ${verb} `);
    for (const { meaning } of EXIT_CODES) expect(out).toContain(meaning);
  });

  it.each(verbs)('%s: has an example that starts with the verb itself', async (verb) => {
    const { code, out } = await tapeproof([verb, '--help']);
    expect(code).toBe(EXIT.done);
    expect(out).toMatch(new RegExp(`Examples?:\\n  \\$ tapeproof ${verb}`));
  });

  it('tells the version of package.json', async () => {
    const { version } = JSON.parse(readFileSync(join(root, 'package.json'), 'utf8'));
    expect(await tapeproof(['--version'])).toEqual({ code: EXIT.done, out: `${version}\n`, err: '' });
  });
});

describe('wrong use ends with 2, says why on standard error and prints no result', () => {
  const wrong: readonly (readonly [string, readonly string[], string])[] = [
    ['no verb', [], 'Usage'],
    ['an unknown verb', ['improve', 'x.wav'], 'improve'],
    ['an unknown option', ['examine', '--enhance', 'x.wav'], '--enhance'],
    ['a missing argument', ['examine'], 'files'],
    ['a missing option', ['run', 'sheet.yaml'], '--out'],
    ['too many arguments', ['run', 'a.yaml', 'b.yaml', '--out', 'x'], 'too many'],
    ['a number that is none', ['align', 'a.wav', 'b.wav', '--reference', 'first'], 'first'],
    ['an unknown format', ['formats', 'wax-cylinder'], 'wax-cylinder'],
    ['a file that is not there', ['examine', '/nowhere/p1.wav'], '/nowhere/p1.wav'],
    ['a sheet that is not there', ['run', '/nowhere/sheet.yaml', '--out', '/nowhere/out'], '/nowhere/sheet.yaml'],
    ['a bench that is not there', ['plan', '/nowhere/bench.yaml'], '/nowhere/bench.yaml'],
    ['an edit list that is not there', ['assemble', '/nowhere/edit-list.json'], '/nowhere/edit-list.json'],
    ['a test signal there is not', ['signal', 'music', '--out', '/nowhere/x.wav'], 'music'],
    [
      'a rate the programme is not written at',
      ['signal', 'measure', '--rate', '31250', '--out', '/nowhere/x.wav'],
      '31250',
    ],
    ['a capture that is not there', ['measure', '/nowhere/x.wav'], '/nowhere/x.wav'],
    ['a path there is not', ['measure', 'x.wav', '--path', 'wireless'], 'wireless'],
    ['a rendering into no format', ['render', 'x.wav'], '--format'],
    ['a damage there is not', ['render', 'x.wav', '--format', 'dat-48k', '--damage', 'fire'], 'fire'],
    [
      'reads that are not there',
      ['reconcile', '/nowhere/a.wav', '/nowhere/b.wav', '--out', '/nowhere/c.wav'],
      '/nowhere/a.wav',
    ],
  ];
  it.each(wrong)('%s', async (_, args, told) => {
    const { code, out, err } = await tapeproof(args);
    expect([code, out]).toEqual([EXIT.failed, '']);
    expect(err).toContain(told);
    expect(err).not.toContain('    at ');
  });

  it('a sheet with a mistake is named with its line', async () => {
    const sheet = join(await tempFolder(), 'sheet.yaml');
    writeFileSync(sheet, 'tape: { id: X-1 }\ncaptures:\n  - { file: a.wav, pass: first }\n');
    const { code, err } = await tapeproof(['run', sheet, '--out', `${sheet}.out`]);
    expect(code).toBe(EXIT.failed);
    expect(err).toMatch(/sheet\.yaml:\d+/);
  });
});

describe('files that may not be read', () => {
  it('say so, to whoever is not allowed', async () => {
    const file = writeRead(join(await tempFolder(), 'p1.wav'), 0);
    chmodSync(file, 0);
    // Root may read everything, so root asks as nobody.
    const asNobody = process.getuid?.() === 0 ? { uid: 65_534, gid: 65_534 } : {};
    const { status, stdout, stderr } = spawnSync(process.execPath, [bin, 'examine', file], {
      encoding: 'utf8',
      ...asNobody,
    });
    expect([status, stdout]).toEqual([EXIT.failed, '']);
    expect(stderr).toMatch(/p1\.wav: the file cannot be opened\n.*EACCES\n.*check its permissions/);
  });
});

describe('results', () => {
  it('examine: a table for people, JSON for programs, of the same files', async () => {
    const file = writeRead(join(await tempFolder(), 'p1.wav'), 0);
    const people = await tapeproof(['examine', file]);
    const programs = await tapeproof(['examine', file, '--json', '--quiet']);
    expect(people.out).toContain('p1.wav');
    const document = JSON.parse(programs.out);
    expect(document).toMatchObject({
      schema: 'tapeproof/examine@1',
      files: [
        { path: file, frames: 72_000, channels: 1, rate: { num: 48_000, den: 1 }, containerBits: 16, readAs: 'whole' },
      ],
    });
    expect(programs.code).toBe(people.code);
    expect(programs.err).toBe('');
  });

  it('examine: a file that ends early is read as far as it goes and ends with 1', async () => {
    const file = writeRead(join(await tempFolder(), 'torn.wav'), 0);
    writeFileSync(file, readFileSync(file).subarray(0, 100_001));
    const { code, out } = await tapeproof(['examine', file, '--json', '--quiet']);
    expect(code).toBe(EXIT.needsPerson);
    expect(JSON.parse(out).files[0]).toMatchObject({ readAs: 'partial', frames: 49_978 });
  });

  it('align: two reads that began at different moments', async () => {
    const folder = await tempFolder();
    const files = [writeRead(join(folder, 'a.wav'), 0), writeRead(join(folder, 'b.wav'), 12_345)];
    const { code, out } = await tapeproof(['align', ...files, '--json', '--quiet']);
    const document = JSON.parse(out);
    expect(document.schema).toBe('tapeproof/align@1');
    expect(document.captures[1]).toMatchObject({
      path: files[1],
      relation: 'bit-equal',
      segments: [{ start: 0, length: 72_000, offset: 12_345 }],
    });
    expect(code).toBe(EXIT.done);
  });

  it('run, then assemble: the master is the undamaged sound, and comes again from the edit list bit for bit', async () => {
    const folder = await tempFolder();
    writeRead(join(folder, 'first.wav'), 0);
    writeRead(join(folder, 'second.wav'), 0);
    const whole = readFileSync(join(folder, 'first.wav'));
    writeFileSync(join(folder, 'first.wav'), Buffer.from(whole).fill(0, 44 + 2 * 30_000, 44 + 2 * 30_500));
    writeFileSync(
      join(folder, 'sheet.yaml'),
      'tape: { id: T-1, rate: 48000 }\ncaptures:\n' +
        '  - { file: first.wav, pass: 1, deck: a, recorder: r, channels: [1] }\n' +
        '  - { file: second.wav, pass: 2, deck: a, recorder: r, channels: [1] }\n',
    );
    const out = join(folder, 'result');
    const run = await tapeproof(['run', join(folder, 'sheet.yaml'), '--out', out]);
    expect(run.code, run.err).toBe(EXIT.done);
    expect(run.out).toContain('T-1');
    expect(run.out).toMatch(/^ +1 +71500 +500 +0 +0$/m);
    const master = readFileSync(join(out, 'master.wav'));
    expect(master.subarray(-144_000).equals(whole.subarray(-144_000))).toBe(true);
    for (const name of ['report.html', 'report.txt']) expect(readFileSync(join(out, name), 'utf8')).toContain('T-1');
    expect(JSON.parse(readFileSync(join(out, 'report.json'), 'utf8')).schema).toBe('tapeproof/report@1');

    const again = await tapeproof(['assemble', join(out, 'edit-list.json'), '--out', join(folder, 'again')]);
    expect(again.code, again.err).toBe(EXIT.done);
    expect(readFileSync(join(folder, 'again/master.wav')).equals(master)).toBe(true);
  });

  it('reconcile: a vote of three reads, each with a wrong place of its own', async () => {
    const folder = await tempFolder();
    const files = [1, 2, 3].map((read) => {
      const path = writeRead(join(folder, `read-${read}.wav`), 0);
      const bytes = readFileSync(path);
      for (let i = 0; i < 50; i++) bytes[44 + 2 * (20_000 * read + i)] ^= 0x55;
      writeFileSync(path, bytes);
      return path;
    });
    const truth = readFileSync(writeRead(join(folder, 'truth.wav'), 0));
    const out = join(folder, 'best.wav');
    const { code, out: shown, err } = await tapeproof(['reconcile', ...files, '--out', out]);
    expect(code, err).toBe(EXIT.done);
    expect(shown).toMatch(/^ +1 +72000 +0 +0 +0$/m);
    expect(readFileSync(out).subarray(-144_000).equals(truth.subarray(-144_000))).toBe(true);
  });

  it('signal, measure and render: the programme rendered through a format is measured and recognised', async () => {
    const folder = await tempFolder();
    const [programme, rendered] = [join(folder, 'programme.wav'), join(folder, 'rendered.wav')];
    const signal = await tapeproof(['signal', 'measure', '--bits', '16', '--out', programme, '--json', '--quiet']);
    expect(JSON.parse(signal.out)).toMatchObject({ schema: 'tapeproof/signal@1', bits: 16, frames: 4_920_000 });
    const again = await tapeproof(['signal', 'measure', '--out', programme]);
    expect([again.code, again.out]).toEqual([EXIT.failed, '']);
    const render = await tapeproof(['render', programme, '--format', 'eight-mm-pcm-525', '--out', rendered, '--quiet']);
    expect(render.out, render.err).toMatch(/^DERIVATIVE/);
    const { code, out, err } = await tapeproof(['measure', rendered, '--json', '--quiet']);
    expect(code, err).toBe(EXIT.done);
    const [capture] = JSON.parse(out).captures;
    expect(capture.identity.word.answer).toBe('eight-mm-16-64-320');
    expect(capture.identity.rate.answer).toBe('4500000/143');
  });

  it('measure: a capture without the programme ends with 2 and says what was heard', async () => {
    const file = writeRead(join(await tempFolder(), 'noise.wav'), 0);
    const { code, out, err } = await tapeproof(['measure', file, '--quiet']);
    expect([code, out]).toEqual([EXIT.failed, '']);
    expect(err).toContain('no pilot');
  });

  it('formats: a list, and a sheet for every id in it', async () => {
    const { formats } = JSON.parse((await tapeproof(['formats', '--json'])).out);
    expect(formats.length).toBeGreaterThan(5);
    for (const { id } of formats.slice(0, 3)) {
      const sheet = await tapeproof(['formats', id]);
      expect(sheet.code).toBe(EXIT.done);
      expect(sheet.out).toContain(id);
    }
  });

  it('writes no escape codes into pipes, whatever the environment wants', async () => {
    const file = writeRead(join(await tempFolder(), 'p1.wav'), 0);
    for (const env of [{ FORCE_COLOR: '1' }, { NO_COLOR: '1', FORCE_COLOR: '1' }]) {
      const { out, err } = await tapeproof(['examine', file], env);
      expect(out + err).not.toContain(ESCAPE);
      expect((await tapeproof(['examine', '/nowhere/x.wav'], env)).err).not.toContain(ESCAPE);
    }
  });

  it('demo: agrees with the truth of its own tape', async () => {
    const out = join(await tempFolder(), 'demo');
    const { code, out: shown, err } = await tapeproof(['demo', '--out', out, '--quiet']);
    expect(shown, err).toContain('Held against the truth');
    expect(shown).not.toContain(' NO');
    expect([code, err]).toEqual([EXIT.done, '']);
  });

  it('is content when the reader of its output goes away', async () => {
    const child = start(['formats', '--json']);
    child.stdout?.destroy();
    const { code, err } = await ended(child);
    expect([code, err]).toEqual([EXIT.done, '']);
  });
});

describe('Ctrl-C', () => {
  it.each(['SIGINT', 'SIGTERM'] as const)('%s ends a long run soon, with 2 and one plain sentence', async (signal) => {
    const child = start(['examine', writeLongCapture(join(await tempFolder(), 'long.wav'))]);
    setTimeout(() => child.kill(signal), 700);
    const { code, out, err } = await ended(child);
    expect([code, out]).toEqual([EXIT.failed, '']);
    expect(err).toContain('nothing that was finished is lost');
    expect(err).not.toContain('    at ');
  });
});
