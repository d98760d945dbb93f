// What every self-contained page is made of: its frame, its sections, plain lists. No scripts, nothing from the network. Not for what a page says.
import { type Child, el, type Markup, ownText } from './markup.ts';

/** The whole file. `style`: own style sheets. */
export function htmlPage(title: string, style: string, ...body: Child[]): string {
  const head = el(
    'head',
    {},
    el('meta', { charset: 'utf-8' }),
    el('meta', { name: 'viewport', content: 'width=device-width, initial-scale=1' }),
    el('title', {}, title),
    el('style', {}, ownText(style)),
  );
  return `<!DOCTYPE html>\n${el('html', { lang: 'en-GB' }, head, '\n', el('body', {}, ...body)).markup}\n`;
}

/** Nothing where there is nothing to say. */
export function section(id: string, title: string, body: readonly Markup[]): Markup | null {
  if (body.length === 0) return null;
  return el('section', { id, 'aria-labelledby': `${id}-head` }, el('h2', { id: `${id}-head` }, title), ...body);
}

/** An empty list of markup where there are no lines. */
export function bulletList(lines: readonly string[]): Markup[] {
  const items = lines.map((line) => el('li', {}, line));
  return items.length > 0 ? [el('ul', {}, items)] : [];
}
