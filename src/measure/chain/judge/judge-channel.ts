// The stories a single channel may tell, simplest first: equal; one number for every sample; bits at fault; such a law with few exceptions; then what only
// statistics can tell. The first that explains the samples is told. Not for what concerns both channels (judge-chain.ts).
import { bitStates } from './bit-map.ts';
import { exactLaw } from './exact-law.ts';
import type { ChainChange } from './finding.ts';
import { fittedStory } from './fitted-story.ts';
import { errorsOf, lawChanges } from './law-changes.ts';
import type { PairSource } from './pairs.ts';
import { type Survey, surveyOf } from './survey.ts';

export interface ChannelJudgement {
  readonly survey: Survey;
  readonly changes: readonly ChainChange[];
  /** root mean square of what no law and no gain or filter explains, in steps of the capture; 0 where every sample is explained */
  readonly restRmsSteps: number;
}

/** Errors do not choose loud samples: where so many of them miss, and are not muted or held, something follows the level. */
const LIMITED_SHARE = 0.3;
/** More exceptions are no exceptions. */
const MOST_MISSES = 0.45;

export async function judgeChannel(from: PairSource): Promise<ChannelJudgement> {
  const survey = await surveyOf(from);
  if (survey.equal === survey.frames) return { survey, changes: [], restRmsSteps: 0 };
  const exact = from.track.clock.kind === 'locked' ? await exactStory(from, survey) : undefined;
  if (exact) return { survey, changes: exact, restRmsSteps: 0 };
  return { survey, ...(await fittedStory(from, survey)) };
}

async function exactStory(from: PairSource, survey: Survey): Promise<ChainChange[] | undefined> {
  const law = await exactLaw(from, survey);
  if (law?.missedFrames === 0) return lawChanges(from, law);
  const states = await bitStates(from);
  if (states.some((state) => state !== 'same') && !states.includes('unrelated')) return [{ kind: 'bits', states }];
  if (!law || law.missedFrames > MOST_MISSES * law.frames) return undefined;
  const isMuted = law.stillFrames > law.missedFrames / 2;
  return isMuted || law.loudShare <= LIMITED_SHARE ? [...lawChanges(from, law), errorsOf(law)] : undefined;
}
