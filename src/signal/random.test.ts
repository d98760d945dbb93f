import { describe, expect, it } from 'vitest';
import { exactLog, nextXoshiro128, Random, splitmix64 } from './random.ts';

describe('published outputs', () => {
  // from the test of the Rust crate rand_xoshiro, which took them from the authors' C programs
  it('xoshiro128** from state 1, 2, 3, 4', () => {
    const state = Int32Array.of(1, 2, 3, 4);
    expect(Array.from({ length: 10 }, () => nextXoshiro128(state))).toEqual([
      11520, 0, 5927040, 70819200, 2031721883, 1637235492, 1287239034, 3734860849, 3729100597, 4258142804,
    ]);
  });

  it('splitmix64 from 1477776061723855037', () => {
    const golden = 0x9e3779b97f4a7c15n;
    const outputs = [0n, 1n, 2n, 3n, 4n].map((n) => splitmix64(1477776061723855037n + n * golden));
    expect(outputs).toEqual([
      1985237415132408290n,
      2979275885539914483n,
      13511426838097143398n,
      8488337342461049707n,
      15141737807933549159n,
    ]);
  });
});

describe('Random', () => {
  it('is the same stream for the same seed and another for another', () => {
    const draw = (seed: number) => {
      const random = new Random(seed);
      return Array.from({ length: 20 }, () => random.gaussian());
    };
    expect(draw(7)).toEqual(draw(7));
    expect(draw(7)).not.toEqual(draw(8));
  });

  it('forks by label, whatever was drawn before', () => {
    const fresh = new Random(3);
    const used = new Random(3);
    for (let i = 0; i < 5; i++) used.uint32();
    expect(used.fork('tape').uint32()).toBe(fresh.fork('tape').uint32());
    expect(fresh.fork('tape').uint32()).not.toBe(fresh.fork('deck').uint32());
    expect(fresh.fork('tape').uint32()).not.toBe(fresh.uint32());
  });

  it('keeps its exact outputs (regression: an exact earlier result of ours)', () => {
    const random = new Random(2026);
    expect([random.uint32(), random.integer(1000), random.uniform(), random.gaussian()]).toMatchInlineSnapshot(`
      [
        1032183117,
        154,
        0.029934130815844173,
        1.0674084615361321,
      ]
    `);
  });

  it('integer(n) fills every value evenly', () => {
    const random = new Random(1);
    const counts = new Array<number>(7).fill(0);
    for (let i = 0; i < 70_000; i++) counts[random.integer(7)]++;
    const chi2 = counts.reduce((sum, count) => sum + (count - 10_000) ** 2 / 10_000, 0);
    expect(chi2).toBeLessThan(22.5); // 6 degrees of freedom: exceeded once in 1000 seeds
    expect(random.integer(1)).toBe(0);
    expect(() => random.integer(0)).toThrow();
  });

  it('uniform, triangular and gaussian have the moments of their distributions', () => {
    const random = new Random(5);
    const n = 200_000;
    const moments = (draw: () => number) => {
      let [m1, m2, m4] = [0, 0, 0];
      for (let i = 0; i < n; i++) {
        const x = draw();
        m1 += x / n;
        m2 += x ** 2 / n;
        m4 += x ** 4 / n;
      }
      return [m1, m2, m4];
    };
    // closed form; tolerance four standard errors of 200 000 draws
    const [u1, u2] = moments(() => random.uniform());
    expect(Math.abs(u1 - 1 / 2)).toBeLessThan(0.0026);
    expect(Math.abs(u2 - 1 / 3)).toBeLessThan(0.0027);
    const [t1, t2] = moments(() => random.triangular());
    expect(Math.abs(t1)).toBeLessThan(0.0037);
    expect(Math.abs(t2 - 1 / 6)).toBeLessThan(0.0018);
    const [g1, g2, g4] = moments(() => random.gaussian());
    expect(Math.abs(g1)).toBeLessThan(0.009);
    expect(Math.abs(g2 - 1)).toBeLessThan(0.0127);
    expect(Math.abs(g4 - 3)).toBeLessThan(0.088);
  });

  it('has a logarithm within two units in the last place of Math.log', () => {
    const random = new Random(9);
    for (let i = 0; i < 10_000; i++) {
      const x = random.uniform() ** (1 + (i % 12));
      if (x > 0) expect(Math.abs(exactLog(x) - Math.log(x))).toBeLessThanOrEqual(Math.abs(Math.log(x)) * 5e-16 + 1e-17);
    }
  });
});
