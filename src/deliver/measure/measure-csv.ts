// Every number of a measurement as comma-separated values (RFC 4180), one per line, for spreadsheets. The JSON holds the same and more.
import type { Measured } from '../../measure/index.ts';
import { csvText } from '../csv.ts';
import { CURVES } from './measure-curves.ts';
import type { MeasureDocument } from './measure-document.ts';
import { QUANTITIES } from './measure-quantities.ts';

const HEAD = ['capture', 'channel', 'quantity', 'at', 'at_unit', 'value', 'uncertainty', 'limit', 'unit'];

export function measureCsv(document: MeasureDocument): string {
  const rows = document.captures.flatMap((capture) =>
    capture.channels.flatMap((channel) => {
      const own = [capture.path, `${channel.channel}`];
      const single = QUANTITIES.map(({ id, unit, of }) => [...own, id, '', '', ...cells(of(channel, capture), unit)]);
      const curves = CURVES.flatMap((kind) =>
        kind
          .of(channel)
          .map(({ at, measured }) => [
            ...own,
            kind.id,
            number(at),
            kind.across === 'hz' ? 'Hz' : 'dBFS',
            ...cells(measured, kind.unit),
          ]),
      );
      const crosstalk = channel.separation.crosstalk.map(({ hz, levelDb }) => [
        ...own,
        'crosstalk',
        `${hz}`,
        'Hz',
        ...cells(levelDb, 'dB'),
      ]);
      const delay = capture.delays.find((one) => one.channel === channel.channel);
      const late = delay ? [[...own, 'delay', '', '', ...cells(delay.delayFrames, 'frames')]] : [];
      return [...single, ...curves, ...crosstalk, ...late];
    }),
  );
  return csvText([HEAD, ...rows]);
}

function cells({ value, uncertainty, limit }: Measured, unit: string): string[] {
  return [value === null ? '' : number(value), uncertainty === null ? '' : number(uncertainty), limit ?? '', unit];
}

function number(value: number): string {
  return String(Number(value.toPrecision(9)));
}
