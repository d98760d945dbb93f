// Detector: which channels carry anything at all (a tape of eight channels may hold six). Not for what they carry.
import type { Block, FrameInfo } from '../../base/index.ts';
import { StepCounter } from '../../signal/index.ts';
import { statisticsOf } from '../block-statistics.ts';
import type { Detector, DetectorSession, Emit } from '../detector.ts';

export const recorded: Detector = {
  meta: { id: 'recorded', version: 1, label: 'Recorded channels', needs: 'at least one frame', settings: {} },
  begin: (info, _settings, emit) => new RecordedSession(info, emit),
};

interface Extent {
  readonly steps: StepCounter;
  max: number;
  min: number;
}

class RecordedSession implements DetectorSession {
  readonly #emit: Emit;
  readonly #extents: Extent[];

  constructor(info: FrameInfo, emit: Emit) {
    this.#emit = emit;
    this.#extents = Array.from({ length: info.channels }, () => ({
      steps: new StepCounter(),
      max: Number.NEGATIVE_INFINITY,
      min: Number.POSITIVE_INFINITY,
    }));
  }

  push(block: Block): void {
    for (const [c, plane] of statisticsOf(block).entries()) {
      const extent = this.#extents[c];
      extent.steps.add(plane);
      extent.max = Math.max(extent.max, plane.max);
      extent.min = Math.min(extent.min, plane.min);
    }
  }

  finish(): undefined {
    for (const [c, { steps, max, min }] of this.#extents.entries()) {
      if (steps.samples === 0) continue;
      const isConstant = max === min;
      const swingSteps = (max - min) / 2 ** steps.stepExponent(0.999);
      const isIdle = !isConstant && swingSteps <= 4;
      this.#emit.verdict({
        channel: c + 1,
        question: 'recorded',
        answer: !isConstant,
        confidence: isConstant ? 1 : isIdle ? 0.5 : 0.999,
        detectionLimit: isIdle
          ? 'moves by no more than 4 steps: may be converter noise of an unused channel as well as a very quiet recording'
          : 'a channel that never moves was not recorded, or muted throughout',
        evidence: { constantValue: isConstant ? max : null, max, min, swingSteps: isConstant ? 0 : swingSteps },
      });
    }
  }
}
