// What is wrong between two parts that are read as one: frames missing or doubled by their time references, samples that jump,
// and joints that nothing but somebody's word speaks for.
import type { Problem } from '../base/index.ts';
import type { JointEvidence, TakeJoint } from './audio-file.ts';

export function jointProblems(joint: TakeJoint): Problem[] {
  const { before, after, gapFrames = 0, evidence } = joint;
  const place = `between ${before} and ${after}`;
  const time = evidence.find(({ kind }) => kind === 'time-reference');
  if (time?.says === 'apart') return [doubt(`${after} does not seem to follow ${before}`, time, gapFrames)];
  if (gapFrames > 0) {
    const message = `${gapFrames} frames are missing ${place} by their time references; nothing was put in their place`;
    return [{ id: 'take-gap', severity: 'damage', message, expected: '0 frames', found: `${gapFrames} frames` }];
  }
  if (gapFrames < 0) {
    const message = `${-gapFrames} frames ${place} overlap by their time references; none were taken out`;
    return [{ id: 'take-overlap', severity: 'warning', message, expected: '0 frames', found: `${gapFrames} frames` }];
  }
  return unsupported(joint, place);
}

function unsupported({ before, after, evidence, isNameOnly }: TakeJoint, place: string): Problem[] {
  const samples = evidence.find(({ kind }) => kind === 'continuity');
  if (samples?.says === 'apart') return [doubt(`${after} may not be the continuation of ${before}`, samples)];
  if (evidence.some(({ kind, says }) => kind !== 'name' && says === 'joined')) return [];
  const what = isNameOnly ? 'only the names say that nothing is missing' : 'nothing says that the two belong together';
  return [{ id: 'take-unproven', severity: 'warning', message: `${place}: ${what}; read as one, as asked` }];
}

function doubt(what: string, evidence: JointEvidence, gapFrames = 0): Problem {
  const found = gapFrames === 0 ? {} : { found: `${gapFrames} frames` };
  return { id: 'take-doubtful', severity: 'damage', message: `${what}: ${evidence.detail}; read as one`, ...found };
}
