// Holds the demo's result against the truth of its invented tape. Every line is counted from the written files and the
// simulation; nothing is taken for granted.
import { intersectSpans, mergeSpans, totalLength } from '../base/index.ts';
import type { TransferReport } from '../deliver/index.ts';
import { isLoss } from '../examine/index.ts';
import { openAudio } from '../media/index.ts';
import { DEMO_FAULTS, type DemoTape } from './demo-tape.ts';

export interface DemoCheck {
  readonly what: string;
  readonly truth: string;
  readonly found: string;
  readonly holds: boolean;
}

export async function checkDemo(tape: DemoTape, report: TransferReport, masterPath: string): Promise<DemoCheck[]> {
  const master = report.masters[0];
  const first = tape.transfer.captures[0];
  // Timeline frame 0 is frame 0 of the first capture; its first segment says which tape frame that was.
  const toTape = master.start + (first.truth.segments[0].offset ?? 0);
  return [
    joined(report),
    ...(await masterChecks(tape, report, masterPath, toTape)),
    torn(report, toTape),
    clogged(tape, report),
    slip(tape, report),
    gain(report),
  ];
}

function joined(report: TransferReport): DemoCheck {
  const found = report.alignment.groups[0].length;
  const all = report.captures.length;
  return { what: 'captures joined', truth: `${all}`, found: `${found}`, holds: found === all };
}

/** Compares every sample of the master with the tape, by what the report says of it. */
async function masterChecks(
  tape: DemoTape,
  report: TransferReport,
  path: string,
  toTape: number,
): Promise<DemoCheck[]> {
  const { planes } = tape.transfer.tape;
  const audio = await openAudio(path);
  const { torn } = DEMO_FAULTS;
  const wrong = { proven: 0, chosen: 0, unproven: 0 };
  const frames = { proven: 0, chosen: 0, unproven: 0 };
  let wrongOutside = 0;
  try {
    for (const run of report.provenance) {
      const block = await audio.read(run.start, run.length);
      const written = block.planes[report.masters[0].channels.indexOf(run.channel)];
      frames[run.state] += run.length;
      for (let i = 0; i < run.length; i++) {
        const frame = run.start + i + toTape;
        // Before the deck played and after it stopped the recorders wrote digital silence.
        const onTape = frame >= 0 && frame < planes[0].length ? planes[run.channel - 1][frame] : 0;
        if (written[i] === onTape) continue;
        wrong[run.state]++;
        if (frame < torn.start - RAMP || frame >= torn.start + torn.length + RAMP) wrongOutside++;
      }
    }
  } finally {
    await audio.close();
  }
  return [
    noneWrong(`wrong among ${frames.proven} samples called proven`, wrong.proven),
    noneWrong(`wrong among ${frames.chosen} samples called chosen`, wrong.chosen),
    noneWrong('samples differing from the tape outside the torn spot', wrongOutside),
  ];
}

/** The deck of the demo fades in over 96 frames after a mute (simulate/, COMMON_POLICY). */
const RAMP = 96;

function noneWrong(what: string, count: number): DemoCheck {
  return { what, truth: '0', found: `${count}`, holds: count === 0 };
}

function torn(report: TransferReport, toTape: number): DemoCheck {
  const { start, length } = DEMO_FAULTS.torn;
  const isInside = (span: { start: number; length: number }) =>
    span.start + toTape <= start && span.start + span.length + toTape >= start + length;
  const channels = new Set(report.lost.filter(isInside).map((span) => span.channel));
  return {
    what: 'torn spot listed as not recovered',
    truth: `${length} frames on 8 channels`,
    found: `on ${channels.size} channels`,
    holds: channels.size === 8,
  };
}

/** Share of the samples the clogged head lost that the findings on pass 2 cover. */
function clogged(tape: DemoTape, report: TransferReport): DemoCheck {
  const { pass } = DEMO_FAULTS.clogged;
  let truth = 0;
  let found = 0;
  for (const [i, { truth: capture, pass: own }] of tape.transfer.captures.entries()) {
    if (own !== pass) continue;
    const losses = report.captures[i].findings.filter(isLoss);
    for (const event of capture.events.filter((e) => e.pattern === 'every-second-sample')) {
      truth += event.length;
      const spans = losses.filter((f) => f.channels.includes(event.channel));
      found += totalLength(intersectSpans(mergeSpans(spans), [event]));
    }
  }
  const share = truth === 0 ? 0 : found / truth;
  return {
    what: 'clogged head seen in the samples of pass 2',
    truth: `${truth} frames in 4 channels`,
    found: `${(100 * share).toFixed(1)} % of them`,
    holds: share > 0.5,
  };
}

function slip(tape: DemoTape, report: TransferReport): DemoCheck {
  const { capture, lostFrames } = DEMO_FAULTS.slip;
  const index = tape.captures.findIndex(({ name }) => name === capture);
  const truth = tape.transfer.captures[index].truth.slips[0];
  const found = report.slips.find((candidate) => candidate.capture === index);
  return {
    what: 'slip in a recorder',
    truth: `${capture}, ${lostFrames} frames lost at frame ${truth.at}`,
    found: found ? `${report.captures[found.capture].path}, ${found.lostFrames} at ${found.at}` : 'none',
    holds: report.slips.length === 1 && found?.lostFrames === lostFrames && found.at === truth.at,
  };
}

function gain(report: TransferReport): DemoCheck {
  const { capture, num, den } = DEMO_FAULTS.gain;
  const index = report.captures.findIndex(({ path }) => path.endsWith(capture));
  const placement = report.alignment.placements[index];
  return {
    what: 'level changed in a chain',
    truth: `${capture}, factor ${num / den}`,
    found: `${placement.relation}, factor ${placement.gain.toFixed(5)}`,
    holds: placement.relation === 'scaled' && Math.abs(placement.gain - num / den) < 1e-4,
  };
}
