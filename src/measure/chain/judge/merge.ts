// The same change found in both channels becomes one finding: exact ones when they are equal or their intervals meet, measured ones when they agree within what
// they are sure of. Not for finding changes.
import type { ChainChange, ChainFinding } from './finding.ts';

/** Noise, dither and bands of filters that differ by less are told once. */
const SAME_DB = 1;

export function mergedFindings(findings: readonly ChainFinding[]): ChainFinding[] {
  const out: ChainFinding[] = [];
  for (const finding of findings) {
    const at = out.findIndex((one) => one.kind === finding.kind && together(one, finding) !== undefined);
    const both = at < 0 ? undefined : together(out[at], finding);
    if (!both) out.push(finding);
    else
      out[at] = { ...both, channels: [...new Set([...out[at].channels, ...finding.channels])].sort((a, b) => a - b) };
  }
  return out;
}

function together(a: ChainChange, b: ChainChange): ChainChange | undefined {
  if (a.kind === 'gain' && b.kind === 'gain') return sharedGain(a, b);
  if (a.kind === 'slips' && b.kind === 'slips') return sharedSlips(a, b);
  return isAlike(a, b) ? a : undefined;
}

type Gain = ChainChange & { kind: 'gain' };

/** The narrower interval of both, with the ratio that already lies in it. */
function sharedGain(a: Gain, b: Gain): Gain | undefined {
  const low = Math.max(a.low, b.low);
  const high = Math.min(a.high, b.high);
  if (low > high || a.basis !== b.basis) return undefined;
  const inside = [a, b].find((one) => one.ratio >= low && one.ratio <= high) ?? a;
  return { ...inside, low, high };
}

function isAlike(a: ChainChange, b: ChainChange): boolean {
  const near = (x: number, y: number) => Math.abs(x - y) < SAME_DB;
  if (a.kind === 'dither' && b.kind === 'dither')
    return a.shape === b.shape && near(20 * Math.log10(a.rmsSteps / b.rmsSteps), 0);
  if (a.kind === 'noise' && b.kind === 'noise') return near(a.db, b.db);
  if (a.kind === 'other' && b.kind === 'other') return near(a.restDb, b.restDb);
  if (a.kind === 'dc' && b.kind === 'dc') return Math.abs(a.steps - b.steps) <= a.uncertainty + b.uncertainty;
  if (a.kind === 'crosstalk' && b.kind === 'crosstalk') return near(a.db, b.db) && a.isTurned === b.isTurned;
  if (a.kind === 'mix' && b.kind === 'mix') return near(a.db, b.db) && a.isTurned === b.isTurned;
  if (a.kind === 'limiter' && b.kind === 'limiter') return a.way === b.way && near(a.mostDb, b.mostDb);
  if (a.kind === 'clip' && b.kind === 'clip') return near(a.lowDb, b.lowDb) && near(a.highDb, b.highDb);
  // muted samples that happen to be zero anyway are no misses: the spans are the same, the counts nearly
  if (a.kind === 'errors' && b.kind === 'errors') return JSON.stringify(a.spans) === JSON.stringify(b.spans);
  if (a.kind === 'filter' && b.kind === 'filter') return isSameResponse(a, b);
  return JSON.stringify({ ...a, channels: [] }) === JSON.stringify({ ...b, channels: [] });
}

type Slips = ChainChange & { kind: 'slips' };

/** The same jumps at places that both channels allow. */
function sharedSlips(a: Slips, b: Slips): Slips | undefined {
  if (a.slips.length !== b.slips.length) return undefined;
  const slips = a.slips.map((one, k) => {
    const other = b.slips[k];
    const least = Math.max(one.least, other.least);
    const most = Math.min(one.most, other.most);
    return { ...one, frame: Math.max(least, Math.min(most, one.frame)), least, most };
  });
  const isShared = slips.every(
    ({ least, most, frames }, k) => least <= most && Math.abs(frames - b.slips[k].frames) < 0.05,
  );
  return isShared ? { ...a, slips } : undefined;
}

type Filter = ChainChange & { kind: 'filter' };

function isSameResponse({ response: a, delayFrames }: Filter, other: Filter): boolean {
  if (Math.abs(delayFrames - other.delayFrames) > 0.05) return false;
  return a.points.every(({ db }, k) => {
    const same = other.response.points[k]?.db ?? -Infinity;
    return Math.abs(db - same) < SAME_DB || Math.max(db, same) < a.gainDb - 40;
  });
}
