// A priority queue: the item that comes first is taken first. Binary heap, textbook.

export class Heap<T> {
  readonly #items: T[] = [];
  readonly #comesFirst: (a: T, b: T) => boolean;

  constructor(comesFirst: (a: T, b: T) => boolean) {
    this.#comesFirst = comesFirst;
  }

  push(item: T): void {
    const items = this.#items;
    let at = items.push(item) - 1;
    while (at > 0) {
      const parent = (at - 1) >> 1;
      if (!this.#comesFirst(items[at], items[parent])) return;
      [items[at], items[parent]] = [items[parent], items[at]];
      at = parent;
    }
  }

  pop(): T | undefined {
    const items = this.#items;
    const first = items[0];
    const last = items.pop();
    if (items.length > 0 && last !== undefined) {
      items[0] = last;
      this.#sink();
    }
    return first;
  }

  #sink(): void {
    const items = this.#items;
    for (let at = 0; ; ) {
      let first = at;
      for (const child of [2 * at + 1, 2 * at + 2]) {
        if (child < items.length && this.#comesFirst(items[child], items[first])) first = child;
      }
      if (first === at) return;
      [items[at], items[first]] = [items[first], items[at]];
      at = first;
    }
  }
}
