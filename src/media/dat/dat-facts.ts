// What a DAT frame dump says of its sound, as documents carry it (docs/json.md, "carrier"). Shapes only.
// Frames are those of the tape (30 ms), counted from 0 in the stretch that is read.
import type { LabelFacts } from '../framed/label-runs.ts';

export interface DatFacts {
  readonly kind: 'dat';
  readonly rateHz: number;
  readonly word: 16;
  /** frames of the file before the stretch */
  readonly firstFrame: number;
  readonly tapeFrames: number;
  readonly emphasisFrames: number;
  readonly wideTrackFrames: number;
  readonly copy: Readonly<Record<string, number>>;
  /** frames of which the drive says that it estimated samples: left, right */
  readonly interpolatedFrames: readonly [number, number];
  /** packs whose parity is wrong */
  readonly badPacks: number;
  readonly absoluteTime: LabelFacts;
  readonly programmes: {
    readonly list: readonly {
      readonly firstFrame: number;
      readonly frames: number;
      /** null where the tape does not number it */
      readonly programme: number | string | null;
    }[];
    readonly more: number;
  };
  readonly startIds: readonly number[];
  readonly skipIds: readonly number[];
  /** of the first frame that has them */
  readonly recorded: { readonly date: string; readonly time: string } | null;
  readonly professionalTime: string | null;
}
