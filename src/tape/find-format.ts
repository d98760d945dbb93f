// The list of formats and the way from what a transfer sheet says to one of them. Not for guessing from a recording (examine/).
import { type Rate, sameRate, TapeproofError } from '../base/index.ts';
import type { TapeFormat, TvSystem } from './format.ts';
import { datFormats } from './formats/dat.ts';
import { dvFormats } from './formats/dv.ts';
import { eightMmFormats } from './formats/eight-mm-pcm.ts';
import { eightTrackFormats } from './formats/eight-track.ts';
import { pcmAdaptorFormats } from './formats/pcm-adaptor.ts';
import { nearNames } from './near-names.ts';

/** What else the sheet says; used only to choose among several modes, never to refuse. */
export interface FormatHints {
  readonly rate?: Rate;
  /** word length on tape, in bits */
  readonly word?: number;
  readonly channels?: number;
}

/** Every format and mode, in a fixed order. */
export function listFormats(): readonly TapeFormat[] {
  return [...eightMmFormats, ...dvFormats, ...datFormats, ...pcmAdaptorFormats, ...eightTrackFormats];
}

/**
 * `id` is a format (`dv-525-48k`), a family (`dv`) or the beginning of ids (`dv-525`); `system` is `525/60` or `625/50`.
 * Throws `input` where nothing fits, the system contradicts, or several modes remain and nothing chooses between them.
 */
export function findFormat(id: string, system?: string, hints: FormatHints = {}): TapeFormat {
  const wanted = id.trim().toLowerCase();
  const named = candidates(wanted);
  if (named.length === 0) throw unknownFormat(id);
  const fitting = named.filter((format) => fitsSystem(format, system));
  if (fitting.length === 0) throw wrongSystem(id, system ?? '', named);
  const chosen = narrow(fitting, hints);
  const exact = chosen.find((format) => format.id === wanted);
  if (exact) return exact;
  if (chosen.length > 1) throw ambiguous(id, chosen);
  return chosen[0];
}

/** `525/60` and `625/50`, also written 525, 625, 525/59.94 (the exact field rate). Throws `input` for anything else. */
export function parseSystem(text: string): TvSystem {
  if (/^\s*525(\s*\/\s*(60|59\.94))?\s*$/.test(text)) return '525/60';
  if (/^\s*625(\s*\/\s*50)?\s*$/.test(text)) return '625/50';
  throw new TapeproofError('input', `no television system is called "${text}"`, {
    expected: '525/60 or 625/50',
    found: text,
  });
}

function candidates(wanted: string): readonly TapeFormat[] {
  const all = listFormats();
  const family = all.filter((format) => format.family === wanted);
  if (family.length > 0) return family;
  const exact = all.filter((format) => format.id === wanted);
  return exact.length > 0 ? exact : all.filter((format) => format.id.startsWith(`${wanted}-`));
}

function fitsSystem(format: TapeFormat, system: string | undefined): boolean {
  return system === undefined || format.system === undefined || format.system === parseSystem(system);
}

function narrow(formats: readonly TapeFormat[], hints: FormatHints): readonly TapeFormat[] {
  const { rate, word, channels } = hints;
  let left = formats;
  const keep = (fits: (format: TapeFormat) => boolean) => {
    const kept = left.filter(fits);
    if (kept.length > 0) left = kept;
  };
  if (word !== undefined) keep((format) => format.signal.tapeBits.value === word);
  if (channels !== undefined) keep((format) => format.signal.channels.value === channels);
  if (rate !== undefined) keep((format) => format.signal.rates.value.some((one) => sameRate(one, rate)));
  return left;
}

function unknownFormat(id: string): TapeproofError {
  const names = listFormats().flatMap((format) => [format.id, format.family]);
  const near = nearNames(id.toLowerCase(), [...new Set(names)]);
  const families = [...new Set(listFormats().map((format) => format.family))].join(', ');
  return new TapeproofError('input', `no tape format is called "${id}"`, {
    expected: `a family (${families}) or a format of one`,
    found: id,
    next: near.length > 0 ? `did you mean ${near.join(', ')}?` : 'list the formats and choose one',
  });
}

function wrongSystem(id: string, system: string, named: readonly TapeFormat[]): TapeproofError {
  return new TapeproofError('input', `format "${id}" does not exist for system ${system}`, {
    expected: [...new Set(named.map((format) => format.system))].join(' or '),
    found: system,
    next: 'correct the system, or name a format of that system',
  });
}

function ambiguous(id: string, left: readonly TapeFormat[]): TapeproofError {
  return new TapeproofError('input', `format "${id}" has several modes`, {
    expected: left.map((format) => format.id).join(', '),
    found: id,
    next: 'name one of them, or give system, rate and word so that one is left',
  });
}
