// What was wrong with an input that could be read all the same. Plain data, shown by every face of the product.

export interface Problem {
  /** stable identifier in kebab-case, e.g. "data-truncated" */
  readonly id: string;
  readonly severity: 'note' | 'warning' | 'damage';
  readonly message: string;
  /** byte offset in the file where it was seen */
  readonly offset?: number;
  readonly expected?: string;
  readonly found?: string;
  /** what the user can do about it */
  readonly next?: string;
}
