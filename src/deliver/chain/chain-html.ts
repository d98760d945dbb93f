// The certificate of a chain as one self-contained page to keep with the transfer, with the response and the spectrum of the difference where there are any.
// No scripts, nothing from the network.
import { formatRate } from '../../base/index.ts';
import type { ChainFinding } from '../../measure/index.ts';
import { el, type Markup } from '../markup.ts';
import type { CurveKind } from '../measure/measure-curves.ts';
import { CURVE_STYLE, curveDrawing, type Series } from '../measure/svg-curves.ts';
import { bulletList, htmlPage, section } from '../page.ts';
import { REPORT_STYLE } from '../report-style.ts';
import { tableMarkup } from '../table-markup.ts';
import type { ChainDocument, ChainFile } from './chain-document.ts';
import { changeTable, channelTable } from './chain-tables.ts';
import { signalLine } from './chain-text.ts';
import { channelText, proofSentences, settingLines, verdictSentence } from './chain-words.ts';

export function chainHtml(document: ChainDocument): string {
  const title = document.verdict === 'transparent' ? 'Certificate of a transparent chain' : 'Judgement of a chain';
  return htmlPage(
    title,
    REPORT_STYLE + CURVE_STYLE,
    el('h1', {}, title),
    el('main', {}, [
      el('p', { class: 'first' }, verdictSentence(document)),
      section('doubts', 'Doubts', bulletList(document.doubts)),
      section('changes', 'What happened', document.findings.length > 0 ? [tableMarkup(changeTable(document))] : []),
      section('limits', 'Limits of the proof', bulletList(proofSentences(document))),
      section('channels', 'Channels', [tableMarkup(channelTable(document))]),
      section('curves', 'Curves', figures(document)),
      section('settings', 'Settings and notes', bulletList([...settingLines(document), ...document.notes])),
      section('files', 'Signal and files', [
        el('p', {}, signalLine(document)),
        ...(document.sent ? [fileList('Sent', document.sent)] : []),
        fileList('Captured', document.captured),
        el('p', { class: 'note' }, `Judged ${document.date} with tapeproof ${document.tool}.`),
      ]),
    ]),
  );
}

const RESPONSE: Omit<CurveKind, 'of'> = {
  id: 'response',
  title: 'Response',
  across: 'hz',
  acrossLabel: 'frequency, Hz',
  upLabel: 'level, dB',
  unit: 'dB',
  note: 'What the filter that explains the capture best does to each frequency.',
};
const DIFFERENCE: Omit<CurveKind, 'of'> = {
  id: 'difference',
  title: 'Spectrum of what remains',
  across: 'hz',
  acrossLabel: 'frequency, Hz',
  upLabel: 'third of an octave, dBFS',
  unit: 'dBFS',
  note: 'What is left when everything that was found is taken away, in thirds of an octave.',
};

function figures({ findings }: ChainDocument): Markup[] {
  const named = (finding: ChainFinding) => channelText(finding);
  const responses = findings.flatMap((finding): Series[] =>
    finding.kind === 'filter'
      ? [{ name: named(finding), points: finding.response.points.map(({ hz, db }) => point(hz, db)) }]
      : [],
  );
  const rests = findings.flatMap((finding): Series[] =>
    (finding.kind === 'noise' || finding.kind === 'other') && finding.spectrum
      ? [{ name: named(finding), points: finding.spectrum.bands.map(({ hz, db }) => point(hz, db)) }]
      : [],
  );
  return [...figure(RESPONSE, responses), ...figure(DIFFERENCE, rests)];
}

function point(hz: number, db: number | null) {
  return { at: hz, measured: { value: db, uncertainty: db === null ? null : 0 } };
}

function figure(kind: Omit<CurveKind, 'of'>, series: readonly Series[]): Markup[] {
  if (series.length === 0) return [];
  const drawing = curveDrawing(kind.id, { ...kind, of: () => [] }, series);
  return [el('figure', {}, el('h3', {}, kind.title), drawing, el('figcaption', {}, kind.note))];
}

function fileList(title: string, file: ChainFile): Markup {
  const { path, container, channels, bits, rate, frames, digests, problems } = file;
  return el(
    'dl',
    {},
    ...pair(title, path),
    ...pair('format', `${container}, ${channels} channels, ${bits} bit, ${formatRate(rate)}, ${frames} frames`),
    ...pair('sha256 of the file', digests.file.sha256),
    ...pair('sha256 of the audio', digests.audio.sha256),
    ...problems.flatMap((problem) => pair('problem', problem.message)),
  );
}

function pair(term: string, text: string): Markup[] {
  return [el('dt', {}, term), el('dd', {}, text)];
}
