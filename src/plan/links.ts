// What holds the captures together: a channel they share, a common start, the tape's timecode; and which hang together by nothing.
import type { PlanRequest } from './bench.ts';
import type { LinkKind, Plan, PlanCapture, PlanGroup, PlanLink, PlanPass } from './plan.ts';

interface Node {
  readonly capture: PlanCapture;
  readonly pass: PlanPass;
  readonly hasTimecode: boolean;
}

/** Every capture after the first of its group hangs on an earlier one by the strongest tie there is. */
export function linksOf(
  passes: readonly PlanPass[],
  { decks, recorders }: PlanRequest,
  hasProgrammes: boolean,
): Pick<Plan, 'links' | 'groups' | 'timecodeGroups'> {
  const deckHas = new Set(decks.filter(({ timecode }) => timecode).map(({ name }) => name));
  const recorderHas = new Set(recorders.filter(({ timecode }) => timecode).map(({ name }) => name));
  const links: PlanLink[] = [];
  const groups: PlanGroup[] = [];
  const timecodeGroups: PlanGroup[] = [];
  for (const programme of new Set(passes.map((pass) => pass.programme))) {
    const nodes = passes
      .filter((pass) => pass.programme === programme)
      .flatMap((pass) =>
        pass.captures.map(
          (capture): Node => ({
            capture,
            pass,
            hasTimecode: deckHas.has(pass.deck) && recorderHas.has(capture.recorder),
          }),
        ),
      );
    const exact = walk(nodes, ['channel', 'start'], links);
    groups.push(...exact.map((group) => groupOf(group, hasProgrammes ? programme : null)));
    const known = new Set(links.map(({ file }) => file));
    const extra: PlanLink[] = [];
    const loose = walk(nodes, ['channel', 'start', 'timecode'], extra);
    links.push(...extra.filter(({ file, by }) => by === 'timecode' && !known.has(file)));
    timecodeGroups.push(...loose.map((group) => groupOf(group, hasProgrammes ? programme : null)));
  }
  const order = passes.flatMap(({ captures }) => captures.map(({ file }) => file));
  links.sort((a, b) => order.indexOf(a.file) - order.indexOf(b.file));
  return { links, groups, timecodeGroups };
}

/** Groups by walking from capture to capture, stronger ties first; each step but the first of a group is told. */
function walk(nodes: readonly Node[], kinds: readonly LinkKind[], told: PlanLink[]): Node[][] {
  const left = [...nodes];
  const groups: Node[][] = [];
  while (left.length > 0) {
    const group = [left.shift() as Node];
    for (;;) {
      const step = strongest(group, left, kinds);
      if (!step) break;
      told.push(step.link);
      group.push(step.node);
      left.splice(left.indexOf(step.node), 1);
    }
    groups.push(group);
  }
  return groups;
}

function strongest(group: readonly Node[], left: readonly Node[], kinds: readonly LinkKind[]) {
  for (const by of kinds) {
    for (const node of left) {
      for (const to of group) {
        const channels = by === 'channel' ? common(node.capture, to.capture) : [];
        const ties =
          by === 'channel'
            ? channels.length > 0
            : by === 'start'
              ? node.pass === to.pass && node.capture.starts !== null && node.capture.starts === to.capture.starts
              : node.hasTimecode && to.hasTimecode;
        if (ties) return { node, link: { file: node.capture.file, to: to.capture.file, by, channels } };
      }
    }
  }
  return null;
}

function common(a: PlanCapture, b: PlanCapture): number[] {
  return a.channels.filter((channel) => channel !== 0 && b.channels.includes(channel));
}

function groupOf(nodes: readonly Node[], programme: number | null): PlanGroup {
  const channels = new Set(nodes.flatMap(({ capture }) => capture.channels.filter((channel) => channel !== 0)));
  return {
    programme,
    channels: [...channels].sort((a, b) => a - b),
    files: nodes.map(({ capture }) => capture.file),
  };
}
