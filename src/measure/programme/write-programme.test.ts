// Truth: what the issue asks of the programme, and plain arithmetic on its samples.
import { describe, expect, it } from 'vitest';
import { rate } from '../../base/index.ts';
import { LADDER_LEVELS_DB, PROGRAMME_BITS, PROGRAMME_RATES, programmePlan } from './plan.ts';
import { levelOf, placeSections, programmeBlocks, programmeFrames } from './write-programme.ts';

const plan = programmePlan(rate(32_000), 16);

describe('the test programme', () => {
  it.each(PROGRAMME_RATES.flatMap((hz) => PROGRAMME_BITS.map((bits) => [hz, bits] as const)))(
    'at %d Hz and %d bits: under four minutes, parts abut, every part of the issue is there',
    (hz, bits) => {
      const one = programmePlan(rate(hz), bits);
      expect(one.seconds).toBeLessThan(240);
      const placed = placeSections(one);
      expect(placed.slice(1).map((part) => part.start)).toEqual(
        placed.slice(0, -1).map((part) => part.start + part.length),
      );
      const groups = new Set(one.sections.map((section) => section.group));
      for (const group of ['idle', 'ladder', 'low-level', 'tones', 'sweep', 'two-tone', 'multitone', 'separation'])
        expect(groups).toContain(group);
      for (const { start } of one.sections) expect(start * hz).toBeCloseTo(Math.round(start * hz), 6);
    },
  );

  it('has a ladder from -100 dBFS up to 0, quiet first', () => {
    expect([LADDER_LEVELS_DB[0], LADDER_LEVELS_DB.at(-1)]).toEqual([-100, 0]);
    expect([...LADDER_LEVELS_DB]).toEqual([...LADDER_LEVELS_DB].sort((a, b) => a - b));
    const loud = plan.sections.filter((section) => levelOf(section) > -0.5);
    expect(loud.map((section) => section.id)).toEqual(['ladder 0 dBFS']);
  });

  it('is the same whatever the block size, and holds the levels it states', () => {
    const whole = [...programmeBlocks(plan, 1 << 24)][0];
    expect(whole.frames).toBe(programmeFrames(plan));
    for (const block of programmeBlocks(plan, 77_777)) {
      expect(block.planes[1]).toEqual(whole.planes[1].subarray(block.start, block.start + block.frames));
    }
    for (const { section, start, length } of placeSections(plan)) {
      if (section.group !== 'ladder') continue;
      const peak = whole.planes[0].subarray(start, start + length).reduce((top, x) => Math.max(top, Math.abs(x)), 0);
      // two steps: one of the dither, one of rounding
      expect(Math.abs(peak - 32_768 * 10 ** (levelOf(section) / 20))).toBeLessThan(2);
    }
    const idle = placeSections(plan).find((part) => part.section.group === 'idle');
    expect(whole.planes[0].subarray(idle?.start, (idle?.start ?? 0) + (idle?.length ?? 0)).every((x) => x === 0)).toBe(
      true,
    );
  });

  it('refuses other rates and word lengths', () => {
    expect(() => programmePlan(rate(31_250), 24)).toThrow(/not written like that/);
    expect(() => programmePlan(rate(48_000), 8)).toThrow(/not written like that/);
  });
});
