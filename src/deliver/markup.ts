// Builds HTML and SVG with every text and attribute escaped in one place, as well-formed markup that also parses as XML.
// Not a template language.

/** Markup that is safe to put into a page: only this file makes it. */
export interface Markup {
  readonly markup: string;
}

export type Child = Markup | string | number | readonly Child[] | null;

export type Attributes = Readonly<Record<string, string | number | undefined>>;

/** Elements that HTML never closes; written with a slash, which HTML allows. */
const VOID = new Set(['meta', 'br', 'hr', 'img', 'input', 'link']);

/** `el('td', { class: 'n' }, text)`: strings are escaped, nested markup is not. */
export function el(name: string, attributes: Attributes = {}, ...children: Child[]): Markup {
  const listed = Object.entries(attributes)
    .filter(([, value]) => value !== undefined)
    .map(([key, value]) => ` ${key}="${escapeMarkup(String(value))}"`)
    .join('');
  if (VOID.has(name)) return { markup: `<${name}${listed}/>` };
  return { markup: `<${name}${listed}>${render(children)}</${name}>` };
}

/** Own style sheet or constant text that must not be escaped; never for text from outside. */
export function ownText(text: string): Markup {
  return { markup: text };
}

/** Numbers of drawings with at most two decimals. */
export function coordinate(value: number): string {
  return String(Math.round(value * 100) / 100);
}

/** Text made harmless in content and in quoted attributes. Control characters, which no page may hold, become U+FFFD. */
export function escapeMarkup(text: string): string {
  return (
    text
      // biome-ignore lint/suspicious/noControlCharactersInRegex: removing them is the purpose
      .replace(/[\u0000-\u0008\u000b\u000c\u000e-\u001f\u007f-\u009f\ufffe\uffff]/g, '\ufffd')
      .replace(/[\ud800-\udbff](?![\udc00-\udfff])|(?<![\ud800-\udbff])[\udc00-\udfff]/g, '\ufffd')
      // direction overrides could make a file name read as another one
      .replace(/[\u202a-\u202e\u2066-\u2069]/g, '\ufffd')
      .replace(/&/g, '&amp;')
      .replace(/</g, '&lt;')
      .replace(/>/g, '&gt;')
      .replace(/"/g, '&quot;')
      .replace(/'/g, '&#39;')
  );
}

function render(children: readonly Child[]): string {
  let out = '';
  for (const child of children) {
    if (child === null) continue;
    if (typeof child === 'string' || typeof child === 'number') out += escapeMarkup(String(child));
    else if (isList(child)) out += render(child);
    else out += child.markup;
  }
  return out;
}

function isList(child: Markup | readonly Child[]): child is readonly Child[] {
  return Array.isArray(child);
}
