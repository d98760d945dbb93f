// What was wrong with a DV stream before a sample was read: bytes that belong to no frame, damaged headers, frames that are cut short or
// say nothing of their sound. Each kind is told once, with its number and its first place.
import type { Problem } from '../../base/index.ts';
import {
  DECLARED_INVALID,
  type FrameTable,
  HEADER_DAMAGED,
  NO_SOUND,
  ODD_MODE,
  PACKS_DIFFER,
  SHORT,
} from '../framed/frame-table.ts';
import type { DvIndex, DvSegment } from './frame-index.ts';

/** Problems after which sound that the tape may have held is missing. */
const LOSES_SOUND = new Set([
  'dv-frame-odd',
  'dv-halves-differ',
  'dv-wrapper-truncated',
  'dv-begins-inside-frame',
  'dv-stray-bytes',
  'dv-frame-short',
  'dv-frame-without-sound',
]);

export function losesSound({ id, severity }: Problem): boolean {
  return severity === 'damage' && LOSES_SOUND.has(id);
}

export function indexProblems(index: DvIndex, { table, wrongSystem, mode }: DvSegment): Problem[] {
  return [
    ...strays(index),
    ...flagged(table, HEADER_DAMAGED, 'dv-header-damaged', 'damage', 'with a damaged header; read where it should lie'),
    ...flagged(table, SHORT, 'dv-frame-short', 'damage', 'cut short; what is missing was read as lost samples'),
    ...flagged(
      table,
      NO_SOUND,
      'dv-frame-without-sound',
      'damage',
      'without a readable source pack: the number of samples is a guess and all of them count as lost',
    ),
    ...flagged(
      table,
      ODD_MODE,
      'dv-frame-odd',
      'damage',
      'alone with another mode than its neighbours: all of it counts as lost',
    ),
    ...flagged(
      table,
      PACKS_DIFFER,
      'dv-packs-differ',
      'warning',
      'whose source packs are not all the same; most of them decided',
    ),
    ...flagged(table, DECLARED_INVALID, 'dv-sound-invalid', 'warning', 'whose header says that the sound is not valid'),
    ...halvesDiffer(table),
    ...(wrongSystem > 0
      ? [
          {
            id: 'dv-system-contradiction',
            severity: 'warning' as const,
            message: `${wrongSystem} frames whose header names the other television system; the length of the frames decided`,
            found: mode.system.id,
          },
        ]
      : []),
    ...outside(index),
  ];
}

/** Sound of the second half beyond the count of the first is the one thing that is there and not read. */
function halvesDiffer(table: FrameTable): Problem[] {
  let frames = 0;
  let left = 0;
  for (let f = 0; f < table.length; f++) {
    if (table.delta(f) !== 0) frames++;
    left += Math.max(0, table.delta(f));
  }
  if (frames === 0) return [];
  const message =
    `in ${frames} frames the second half counts other samples than the first, which was followed: ` +
    `${left} samples of the second half were left out, and where it has fewer its last ones count as lost`;
  return [{ id: 'dv-halves-differ', severity: left > 0 ? 'damage' : 'warning', message }];
}

function strays({ strayBytes, firstStrayAt }: DvIndex): Problem[] {
  if (strayBytes === 0) return [];
  const message = `${strayBytes} bytes belong to no frame and were left out`;
  return [{ id: 'dv-stray-bytes', severity: 'damage', message, offset: firstStrayAt }];
}

function outside({ unplaced, unreadable }: DvIndex): Problem[] {
  const problems: Problem[] = [];
  if (unplaced > 0) {
    const message = `${unplaced} frames say nothing of their sound and stand beside no frame of their system that does`;
    problems.push({ id: 'dv-frame-without-sound', severity: 'damage', message });
  }
  for (const [obstacle, frames] of unreadable) {
    const message = `the sound of ${frames} frames cannot be read: ${obstacle}`;
    problems.push({ id: 'dv-unreadable-mode', severity: 'damage', message });
  }
  return problems;
}

function flagged(
  table: FrameTable,
  flag: number,
  id: string,
  severity: Problem['severity'],
  what: string,
): readonly Problem[] {
  const frames = table.count(flag);
  if (frames === 0) return [];
  let first = 0;
  while (!(table.flags(first) & flag)) first++;
  const message = `${frames} ${frames === 1 ? 'frame' : 'frames'} ${what}; the first is frame ${first}`;
  return [{ id, severity, message, offset: table.at(first) }];
}
