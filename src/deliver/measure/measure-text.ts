// The measure document as text for people: what it is, the numbers per channel, curves at a few places; or several captures side by side.
// Prints the document, judges nothing.
import { formatRate, formatTime } from '../../base/index.ts';
import { failedTexts } from '../failed-text.ts';
import { countOf } from '../plain-words.ts';
import { right, wide } from '../report-table.ts';
import { textTable, wrapText } from '../text-table.ts';
import { CURVES, type CurveKind } from './measure-curves.ts';
import { type MeasureDocument, type MeasuredCapture, mainChannel } from './measure-document.ts';
import { measuredText, QUANTITIES } from './measure-quantities.ts';
import { identitySayings, METHOD_NOTES } from './measure-words.ts';

/** Places of the curves that a table shows. */
const SHOWN: Readonly<Record<CurveKind['across'], readonly number[]>> = {
  db: [-100, -80, -60, -50, -40, -30, -20, -10, -6, -1, 0],
  hz: [31.5, 63, 125, 250, 500, 1000, 2000, 4000, 8000, 10_000, 12_500, 15_000, 18_000, 20_000],
};
const TABLED: readonly string[] = ['noise-level', 'thdn-level', 'response'];

export function measureText(document: MeasureDocument, options: { readonly compare?: boolean } = {}): string {
  const parts = options.compare ? compareParts(document) : document.captures.map(captureText);
  const failed = failedTexts(document.failed, 'not measured');
  const written = document.written ? [wrapText(`Written: ${document.written.join(', ')}`)] : [];
  return `${[...parts, ...failed, METHOD_NOTES.map((note) => wrapText(note)).join('\n'), ...written].join('\n\n')}\n`;
}

function captureText(capture: MeasuredCapture): string {
  const { path, rate, bits, channelCount, frames } = capture;
  const head = [
    wrapText(path),
    wrapText(`${countOf(channelCount, 'channel')}, ${bits} bit, ${formatRate(rate)}, ${formatTime(frames, rate)}`, {
      indent: 2,
    }),
  ].join('\n');
  const columns = [wide('quantity'), ...capture.channels.map((one) => right(`channel ${one.channel}`)), { header: '' }];
  const rows = QUANTITIES.map((quantity) => [
    quantity.label,
    ...capture.channels.map((one) => measuredText(quantity.of(one, capture), quantity.digits)),
    quantity.unit,
  ]);
  return [
    head,
    titled(
      'What it is',
      identitySayings(capture)
        .map(({ text, because }) => wrapText(because ? `${text} (${because}).` : `${text}.`, { indent: 2, hang: 2 }))
        .join('\n'),
    ),
    titled('Doubts', capture.doubts.map((text) => wrapText(`- ${text}`, { indent: 2, hang: 2 })).join('\n')),
    titled('Numbers', textTable(columns, rows, { indent: 2 })),
    titled('Channels', channelTable(capture)),
    ...CURVES.filter((kind) => TABLED.includes(kind.id)).map((kind) =>
      titled(
        `${kind.title} (${kind.unit})`,
        curveTable(
          kind,
          capture.channels.map((one) => ({ name: `channel ${one.channel}`, points: kind.of(one) })),
        ),
      ),
    ),
  ]
    .filter((part) => part !== '')
    .join('\n\n');
}

function channelTable(capture: MeasuredCapture): string {
  const columns = [
    right('channel'),
    wide('holds'),
    wide('polarity'),
    right('late by, frames'),
    wide('crosstalk at 0.1, 1, 5, 10, 14 kHz, dB'),
  ];
  const rows = capture.channels.map((one) => {
    const delay = capture.delays.find((candidate) => candidate.channel === one.channel);
    const holds = one.separation.programmeChannel;
    return [
      `${one.channel}`,
      holds === null ? 'unknown' : holds === 0 ? 'both mixed' : `programme ${holds}`,
      one.isInverted ? 'inverted' : 'as sent',
      delay ? measuredText(delay.delayFrames, 3) : one.channel === capture.reference ? 'reference' : '',
      one.separation.crosstalk.map(({ levelDb }) => measuredText(levelDb, 0).replace(/ ± .*/, '')).join(', '),
    ];
  });
  const silent = capture.absent.map((channel) => [`${channel}`, 'nothing', '', '', '']);
  return textTable(columns, [...rows, ...silent], { indent: 2 });
}

function compareParts(document: MeasureDocument): string[] {
  const { captures } = document;
  const names = captureNames(captures);
  const legend = captures
    .map((capture, k) => wrapText(`${names[k]}: ${capture.path}`, { indent: 2, hang: 2 }))
    .join('\n');
  const columns = [wide('quantity'), ...names.map(right), { header: '' }];
  const said = [
    ['word or law', ...captures.map((capture) => capture.identity.word.answer ?? 'cannot tell'), ''],
    ['rate', ...captures.map((capture) => capture.identity.rate.answer ?? 'cannot tell'), 'Hz'],
  ];
  const rows = QUANTITIES.map((quantity) => [
    quantity.label,
    ...captures.map((capture) => measuredText(quantity.of(mainChannel(capture), capture), quantity.digits)),
    quantity.unit,
  ]);
  const doubts = captures.flatMap((capture, k) =>
    capture.doubts.map((text) => wrapText(`- ${names[k]}: ${text}`, { indent: 2, hang: 2 })),
  );
  return [
    titled('Compared', legend),
    titled('Doubts', doubts.join('\n')),
    titled('Numbers', textTable(columns, [...said, ...rows], { indent: 2 })),
    ...CURVES.filter((kind) => TABLED.includes(kind.id)).map((kind) =>
      titled(
        `${kind.title} (${kind.unit})`,
        curveTable(
          kind,
          captures.map((capture, k) => ({ name: names[k], points: kind.of(mainChannel(capture)) })),
        ),
      ),
    ),
  ].filter((part) => part !== '');
}

/** File names without folders where they differ, else A, B, C. */
export function captureNames(captures: readonly MeasuredCapture[]): string[] {
  const short = captures.map(({ path }) => path.replace(/^.*[\\/]/, '').replace(/\.[A-Za-z0-9]+$/, ''));
  const isUnique = new Set(short).size === short.length && short.every((name) => name.length <= 24);
  return isUnique
    ? short
    : captures.map((_, k) => String.fromCharCode(65 + (k % 26)) + (k >= 26 ? Math.floor(k / 26) : ''));
}

function curveTable(
  kind: CurveKind,
  series: readonly { readonly name: string; readonly points: ReturnType<CurveKind['of']> }[],
): string {
  const columns = [right(kind.across === 'db' ? 'sent dBFS' : 'Hz'), ...series.map((one) => right(one.name))];
  const rows = SHOWN[kind.across].flatMap((at) => {
    const cells = series.map(({ points }) => {
      const near = points.reduce<(typeof points)[number] | undefined>(
        (best, point) => (best && distance(kind, best.at, at) <= distance(kind, point.at, at) ? best : point),
        undefined,
      );
      return near && distance(kind, near.at, at) < (kind.across === 'db' ? 0.5 : 0.03)
        ? measuredText(near.measured, 1)
        : '';
    });
    return cells.some((cell) => cell !== '') ? [[`${at}`, ...cells]] : [];
  });
  return textTable(columns, rows, { indent: 2 });
}

function distance(kind: CurveKind, a: number, b: number): number {
  return kind.across === 'db' ? Math.abs(a - b) : Math.abs(Math.log(a / b));
}

function titled(title: string, body: string): string {
  return body === '' ? '' : `${title}\n${body}`;
}
