// Which kinds of connection fit, what stands between them. Impedances and voltages: AES3, AES-3id and IEC 60958-3 as the standards note 5.2 has them.
import { describe, expect, it } from 'vitest';
import { connectionOf, plugKinds } from './connection.ts';

const texts = (from: string, to: string) =>
  connectionOf(from, to)
    ?.cautions.map(({ value }) => value)
    .join(' ') ?? '';

describe('connections', () => {
  it('the same kind needs no adapter', () => {
    for (const kind of plugKinds()) expect(connectionOf(kind, kind)).toMatchObject({ adapter: null });
  });

  it('balanced into consumer coaxial: impedance, both levels, channel status', () => {
    expect(connectionOf('aes3', 'spdif')?.adapter).toMatch(/110 to 75 ohm.*0\.5 V/);
    expect(texts('aes3', 'spdif')).toMatch(/110 ohm and 2 to 7 V.*75 ohm and 0\.5 V.*overload.*channel status/);
    expect(connectionOf('aes3', 'aes3id')?.adapter).toMatch(/1 V/);
  });

  it('every caution has a mark, memory where there is no source', () => {
    for (const from of plugKinds()) {
      for (const to of plugKinds()) {
        for (const { certainty, source } of connectionOf(from, to)?.cautions ?? []) {
          expect(source === 'memory').toBe(certainty === 'M');
        }
      }
    }
  });

  it('digital does not go into analogue, the stream only into its own kind', () => {
    expect(connectionOf('aes3', 'analogue')).toBeNull();
    expect(connectionOf('analogue', 'spdif')).toBeNull();
    expect(connectionOf('dif', 'aes3')).toBeNull();
    expect(connectionOf('analogue-consumer', 'analogue')).toMatchObject({ isAnalogue: true });
  });

  it("a kind of the user's own fits only itself, and says that nothing is known of it", () => {
    expect(connectionOf('light pipe of eight', 'light pipe of eight')).not.toBeNull();
    expect(texts('light pipe of eight', 'light pipe of eight')).toContain(
      'Nothing is known here of light pipe of eight',
    );
    expect(connectionOf('light pipe of eight', 'optical')).toBeNull();
    expect(connectionOf('constructor', 'spdif')).toBeNull();
  });
});
