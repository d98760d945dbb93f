// The list of pieces of the score: what is run, in which order. A piece takes seconds to a minute and leaves one file of rows.

import { cleanPiece } from './clean-piece.ts';
import { clickPiece } from './click-piece.ts';
import { damagePiece } from './damage-piece.ts';
import { formatScenarios } from './format-scenarios.ts';
import { hashOf } from './halves.ts';
import { listMadeSounds } from './made-sounds.ts';
import { listRecordings, type Recording } from './recordings.ts';
import type { Row } from './rows.ts';
import { chanceScenarios, limitScenarios, type Scenario } from './scenarios.ts';
import { listTapes, soundOf } from './tapes.ts';

export interface Piece {
  readonly id: string;
  readonly run: () => Promise<Row[]>;
}

/** How many recordings of the scoring half a scenario meets; of the tuning half it meets a third as many. */
interface Width {
  readonly chance: number;
  readonly format: number;
  readonly limits: number;
  readonly clicks: number;
}

const SMALL: Width = { chance: 4, format: 1, limits: 8, clicks: 4 };
const LARGE: Width = { chance: 6, format: 1, limits: 12, clicks: 18 };

export async function listPieces(isLarge: boolean, seed: number): Promise<Piece[]> {
  const recordings = await listRecordings();
  const width = isLarge ? LARGE : SMALL;
  const clicked = someOf(recordings, width.clicks, 'clicks');
  const damage = (scenarios: readonly Scenario[], each: number): Piece[] =>
    scenarios.map((scenario) => ({
      id: `damage ${scenario.id}`,
      run: () => damagePiece(scenario, someOf(recordings, each, scenario.id), seed),
    }));
  return [
    ...(isLarge ? await undamaged() : []),
    { id: 'made sounds', run: () => allMade(recordings, seed) },
    ...damage(chanceScenarios(), width.chance),
    { id: 'damage clicks', run: () => clickPiece('added', clicked, seed) },
    { id: 'damage clicks replaced', run: () => clickPiece('replaced', clicked, seed) },
    ...damage(limitScenarios(), width.limits),
    ...damage(formatScenarios(), width.format),
  ];
}

async function undamaged(): Promise<Piece[]> {
  return (await listTapes()).map((tape) => ({
    id: `undamaged ${tape.name}`,
    run: () => cleanPiece({ ...soundOf(tape), ...tape }),
  }));
}

async function allMade(recordings: readonly Recording[], seed: number): Promise<Row[]> {
  const rows: Row[] = [];
  for (const { make } of listMadeSounds(recordings, seed)) rows.push(...(await cleanPiece(make())));
  return rows;
}

/** So many of the scoring half and a third as many of the other, spread over the list, others for every scenario. */
function someOf(recordings: readonly Recording[], each: number, scenario: string): Recording[] {
  return (['tuning', 'scoring'] as const).flatMap((half) => {
    const own = recordings.filter((one) => one.half === half);
    const count = Math.min(half === 'scoring' ? each : Math.floor(each / 3), own.length);
    const first = hashOf(scenario) % own.length;
    return Array.from({ length: count }, (_, k) => own[(first + Math.floor((k * own.length) / count)) % own.length]);
  });
}
