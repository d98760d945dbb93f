// Reads an edit list that came from outside: every field checked by hand, first error named with its place in the document.
import { deepFreeze, TapeproofError } from '../base/index.ts';
import type { EditList, EditPiece, EditSource, EditSourcePart } from './edit-list.ts';

/** Throws `input` with the JSON path, what was expected and what was found. The result is frozen. */
export function validateEditList(json: unknown): EditList {
  const root = record(json, '$');
  if (root.schema !== 'tapeproof/edit-list@1') fail('$.schema', "'tapeproof/edit-list@1'", root.schema);
  const rate = record(root.rate, '$.rate');
  const bits = integer(root.bits, '$.bits', 1, 32);
  const frames = integer(root.frames, '$.frames', 0);
  const sources = array(root.sources, '$.sources').map((s, i) => sourceOf(s, `$.sources[${i}]`));
  const channels = array(root.channels, '$.channels').map((c, i) =>
    channelOf(c, `$.channels[${i}]`, { frames, bits, sources }),
  );
  const seen = new Set<number>();
  for (const [i, { channel }] of channels.entries()) {
    if (seen.has(channel)) fail(`$.channels[${i}].channel`, 'each channel once', channel);
    seen.add(channel);
  }
  return deepFreeze({
    schema: 'tapeproof/edit-list@1',
    tape: text(root.tape, '$.tape'),
    rate: { num: integer(rate.num, '$.rate.num', 1), den: integer(rate.den, '$.rate.den', 1) },
    bits,
    frames,
    sources,
    channels,
    audioSha256: digest(root.audioSha256, '$.audioSha256'),
  });
}

function sourceOf(json: unknown, at: string): EditSource {
  const source = record(json, at);
  return {
    path: text(source.path, `${at}.path`),
    sha256: digest(source.sha256, `${at}.sha256`),
    audioSha256: digest(source.audioSha256, `${at}.audioSha256`),
    frames: integer(source.frames, `${at}.frames`, 0),
    channels: integer(source.channels, `${at}.channels`, 1),
    bits: integer(source.bits, `${at}.bits`, 1, 32),
    ...(source.parts === undefined ? {} : { parts: partsOf(source.parts, `${at}.parts`, source.frames) }),
    ...(source.raw === undefined ? {} : { raw: text(source.raw, `${at}.raw`) }),
    ...(source.segment === undefined ? {} : { segment: integer(source.segment, `${at}.segment`, 1) }),
    ...(source.trailing === undefined ? {} : { trailing: onlyTrue(source.trailing, `${at}.trailing`) }),
  };
}

function partsOf(json: unknown, at: string, frames: unknown): EditSourcePart[] {
  const parts = array(json, at).map((part, i): EditSourcePart => {
    const { path, sha256, frames: own } = record(part, `${at}[${i}]`);
    return {
      path: text(path, `${at}[${i}].path`),
      sha256: digest(sha256, `${at}[${i}].sha256`),
      frames: integer(own, `${at}[${i}].frames`, 0),
    };
  });
  const sum = parts.reduce((all, part) => all + part.frames, 0);
  if (parts.length < 2 || sum !== frames) fail(at, `two files or more, of ${frames} frames together`, sum);
  return parts;
}

function onlyTrue(value: unknown, at: string): true {
  if (value !== true) fail(at, 'true, or nothing', String(value));
  return true;
}

function channelOf(json: unknown, at: string, list: Pick<EditList, 'frames' | 'bits' | 'sources'>) {
  const { channel, pieces } = record(json, at);
  const number = integer(channel, `${at}.channel`, 1);
  let end = 0;
  const checked = array(pieces, `${at}.pieces`).map((p, i) => {
    const piece = pieceOf(p, `${at}.pieces[${i}]`, list);
    if (piece.start !== end) fail(`${at}.pieces[${i}].start`, `${end}, where the piece before ends`, piece.start);
    end += piece.length;
    return piece;
  });
  if (end !== list.frames) fail(`${at}.pieces`, `pieces that end at frame ${list.frames}`, end);
  return { channel: number, pieces: checked };
}

function pieceOf(json: unknown, at: string, { bits, sources }: Pick<EditList, 'bits' | 'sources'>): EditPiece {
  const piece = record(json, at);
  const start = integer(piece.start, `${at}.start`, 0);
  const length = integer(piece.length, `${at}.length`, 1);
  const from = integer(piece.from, `${at}.from`, 0);
  const fileChannel = integer(piece.fileChannel, `${at}.fileChannel`, 0);
  if (piece.source === null) return { start, length, source: null, fileChannel, from };
  if (sources.length === 0) fail(`${at}.source`, 'null, for there are no sources', piece.source);
  const source = integer(piece.source, `${at}.source`, 0, sources.length - 1);
  const described = sources[source];
  if (described.bits > bits) fail(`${at}.source`, `a source of at most ${bits} bit`, described.bits);
  if (fileChannel < 1 || fileChannel > described.channels) {
    fail(`${at}.fileChannel`, `1 to ${described.channels}`, fileChannel);
  }
  if (from + length > described.frames) {
    fail(`${at}.from`, `frames within the ${described.frames} of ${described.path}`, `${from} to ${from + length}`);
  }
  return { start, length, source, fileChannel, from };
}

function fail(at: string, expected: string, found: unknown): never {
  const shown = typeof found === 'string' || typeof found === 'number' ? String(found) : kindOf(found);
  throw new TapeproofError('input', `edit list: ${at} is wrong`, { expected, found: shown.slice(0, 80) });
}

function kindOf(value: unknown): string {
  if (value === undefined) return 'nothing';
  if (value === null) return 'null';
  return Array.isArray(value) ? 'a list' : `a value of type ${typeof value}`;
}

function record(value: unknown, at: string): Record<string, unknown> {
  if (typeof value !== 'object' || value === null || Array.isArray(value)) fail(at, 'an object', value);
  return value as Record<string, unknown>;
}

function array(value: unknown, at: string): readonly unknown[] {
  if (!Array.isArray(value)) fail(at, 'a list', value);
  return value as readonly unknown[];
}

function integer(value: unknown, at: string, least: number, most = Number.MAX_SAFE_INTEGER): number {
  if (typeof value !== 'number' || !Number.isSafeInteger(value) || value < least || value > most) {
    const range = most === Number.MAX_SAFE_INTEGER ? `from ${least}` : `${least} to ${most}`;
    fail(at, `a whole number ${range}`, value);
  }
  return value;
}

function text(value: unknown, at: string): string {
  if (typeof value !== 'string') fail(at, 'text', value);
  return value;
}

function digest(value: unknown, at: string): string {
  if (typeof value !== 'string' || !/^[0-9a-f]{64}$/.test(value)) fail(at, '64 hexadecimal digits', value);
  return value;
}
