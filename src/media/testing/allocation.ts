// Counts the typed arrays that a piece of work makes, by standing in for their constructors while it runs. The memory of the
// process would say too little: it moves with the collector and with whatever else the test runner does.
// Not seen: arrays made inside Node (a fixed amount per open file) and slices of arrays that were counted before.

interface Allocation {
  /** the largest single array */
  largestBytes: number;
  totalBytes: number;
}

const KINDS = ['Uint8Array', 'Int32Array', 'Uint16Array', 'Uint32Array', 'Float64Array', 'ArrayBuffer'] as const;

/** Work must not overlap with other work of the same thread. */
export async function countAllocation<T>(work: () => Promise<T>): Promise<{ result: T } & Allocation> {
  const seen: Allocation = { largestBytes: 0, totalBytes: 0 };
  const globals = globalThis as unknown as Record<string, unknown>;
  const originals = KINDS.map((kind) => [kind, globals[kind]] as const);
  for (const [kind, original] of originals) globals[kind] = counting(original as ArrayConstructorLike, seen);
  try {
    return { result: await work(), ...seen };
  } finally {
    for (const [kind, original] of originals) globals[kind] = original;
  }
}

type ArrayConstructorLike = (new (...args: never[]) => object) & { readonly BYTES_PER_ELEMENT?: number };

function counting(original: ArrayConstructorLike, seen: Allocation): ArrayConstructorLike {
  return new Proxy(original, {
    construct(target, args: unknown[], newTarget) {
      const [first] = args;
      const isCopy = first instanceof Object && !(first instanceof ArrayBuffer) && 'length' in first;
      const length = typeof first === 'number' ? first : isCopy ? Number(first.length) : 0;
      const bytes = length * (original.BYTES_PER_ELEMENT ?? 1);
      seen.largestBytes = Math.max(seen.largestBytes, bytes);
      seen.totalBytes += bytes;
      return Reflect.construct(target, args, newTarget) as object;
    },
  });
}
