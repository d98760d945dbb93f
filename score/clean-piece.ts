// One stretch of undamaged sound: examined as it is. Every finding of a loss or a click is a false alarm.
import { memorySource } from '../src/base/index.ts';
import { examineSource, isLoss } from '../src/examine/index.ts';
import { type AlarmRow, type Row, SCORED, type SoundRow } from './rows.ts';
import type { Sound } from './tapes.ts';

export interface CleanSound extends Sound {
  readonly name: string;
  readonly half: SoundRow['half'];
  readonly kind: string;
  /** sound that is counted once more in another word or treatment is not */
  readonly isFirst: boolean;
}

export async function cleanPiece({ planes, bits, rate, name, half, kind, isFirst }: CleanSound): Promise<Row[]> {
  const { findings } = await examineSource(memorySource(planes, { name, rate, bits }), SCORED);
  const seconds = Math.round((planes[0].length * rate.den) / rate.num);
  const alarms = findings.filter((finding) => isLoss(finding) || finding.kind === 'click');
  return [
    { row: 'sound', name, half, kind, channels: planes.length, seconds, isFirst: isFirst ? 1 : 0 },
    ...alarms.map((finding): AlarmRow => {
      const { channels, start, length } = finding;
      const confidence = Math.round(finding.confidence * 10_000) / 10_000;
      return { row: 'alarm', name, half, kind: finding.kind, channel: channels[0], start, length, confidence };
    }),
  ];
}
