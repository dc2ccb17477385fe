import { shown } from '../finding.ts';
import type { DeviceType, Material, Polarity } from '../model.ts';
import type { Sheet } from '../sheet.ts';
import { type NumberWish, numberText, type SheetRow } from '../sheet-row.ts';

type Kind = DeviceType['kind'];

/** types.csv: electrical facts of type numbers. The built-in table has the same form. */
export const TYPES: Sheet<DeviceType> = {
  file: 'types.csv',
  columns: [
    'type',
    'kind',
    'polarity',
    'material',
    'vj',
    'ij',
    'hfe_min',
    'hfe_typ',
    'hfe_max',
    'icbo',
    'rs',
    'n',
    'vceo',
    'vcbo',
    'vebo',
    'ic',
    'pd',
    'ft',
    'source',
  ],
  required: ['type', 'kind', 'material'],
  numeric: [
    'vj',
    'ij',
    'hfe_min',
    'hfe_typ',
    'hfe_max',
    'icbo',
    'rs',
    'n',
    'vceo',
    'vcbo',
    'vebo',
    'ic',
    'pd',
    'ft',
  ],
  read: deviceType,
  key: ({ type }) => type,
  repeat: {
    severity: 'error',
    code: 'duplicate',
    column: 'type',
    message: ({ type }, first) => `type ${type} stands in row ${first} already; delete one of the rows`,
  },
  cells: (t) => ({
    type: t.type,
    kind: t.kind,
    polarity: t.polarity ?? '',
    material: t.material,
    vj: numberText(t.vj),
    ij: numberText(t.ij),
    hfe_min: numberText(t.hfeMin),
    hfe_typ: numberText(t.hfeTyp),
    hfe_max: numberText(t.hfeMax),
    icbo: numberText(t.icbo),
    rs: numberText(t.rs),
    n: numberText(t.n),
    vceo: numberText(t.vceo),
    vcbo: numberText(t.vcbo),
    vebo: numberText(t.vebo),
    ic: numberText(t.ic),
    pd: numberText(t.pd),
    ft: numberText(t.ft),
    source: t.source,
  }),
};

/** What is taken where a row leaves cells empty: forward drop `vj` at `ij`, leakage, emission coefficient. */
interface Usual {
  readonly vj: number;
  readonly ij: number;
  readonly icbo: number;
  readonly n: number;
}

/**
 * Common practice, no source: small alloy and planar transistors, germanium point-contact and silicon junction diodes.
 * The emission coefficients of transistors and germanium diodes are the format's. Silicon junction
 * diodes take 1.9: between 0.1 and 10 mA recombination rules, which gives nearly 2.
 */
const USUAL: Readonly<Record<Kind, Readonly<Record<Material, Usual>>>> = {
  transistor: {
    ge: { vj: 0.25, ij: 5e-3, icbo: 2e-6, n: 1 },
    si: { vj: 0.65, ij: 2e-3, icbo: 5e-9, n: 1 },
  },
  diode: {
    ge: { vj: 0.3, ij: 1e-3, icbo: 5e-6, n: 1.8 },
    si: { vj: 0.62, ij: 1e-3, icbo: 5e-9, n: 1.9 },
  },
  zener: {
    ge: { vj: 0.3, ij: 1e-3, icbo: 5e-6, n: 1.8 },
    si: { vj: 0.65, ij: 1e-3, icbo: 1e-8, n: 1.9 },
  },
};

const KINDS: readonly Kind[] = ['transistor', 'diode', 'zener'];
const POSITIVE_VOLTS: NumberWish = { unit: 'V', from: 0.1, to: 50_000, wanted: 'volts as a positive limit' };
const GAIN: NumberWish = { from: 0.5, to: 100_000, wanted: 'a current gain' };

function deviceType(row: SheetRow): DeviceType | undefined {
  const type = row.needed('type', 'the type number');
  if (/\s/.test(type)) row.error('bad-name', 'type', `type ${shown(type)} holds a space; write it without`);
  const kind = word(row, 'kind', KINDS);
  const material = word<Material>(row, 'material', ['ge', 'si']);
  const polarity = kind === 'transistor' ? word<Polarity>(row, 'polarity', ['pnp', 'npn']) : undefined;
  const vj = row.number('vj', {
    unit: 'V',
    from: 0.02,
    to: 5,
    wanted: 'the forward drop in volts, about 0.2 to 0.7',
  });
  const ij = row.number('ij', { unit: 'A', from: 1e-9, to: 100, wanted: 'amperes: 5m or 0.005 for 5 mA' });
  if ((vj === undefined) !== (ij === undefined) && !row.faulty) {
    row.error(
      'missing',
      vj === undefined ? 'vj' : 'ij',
      'vj and ij go together: the forward drop and the current it is stated at',
    );
  }
  const hfeMin = row.number('hfe_min', GAIN);
  const hfeTyp = row.number('hfe_typ', GAIN);
  const hfeMax = row.number('hfe_max', GAIN);
  const gains = [hfeMin, hfeTyp, hfeMax].filter((gain) => gain !== undefined);
  if (gains.some((gain, i) => i > 0 && gain < gains[i - 1]!)) {
    row.error(
      'out-of-range',
      'hfe_typ',
      `gains ${gains.join(', ')} fall from hfe_min over hfe_typ to hfe_max; put them in rising order`,
    );
  }
  const icbo = row.number('icbo', { unit: 'A', from: 0, to: 0.1, wanted: 'amperes: 5u for 5 µA' });
  const rs = row.number('rs', { unit: 'Ω', from: 0, to: 1e6, wanted: 'ohms' });
  const n = row.number('n', { from: 0.5, to: 5, wanted: 'an emission coefficient, 1 to 2' });
  const vceo = row.number('vceo', POSITIVE_VOLTS);
  const vcbo = row.number('vcbo', POSITIVE_VOLTS);
  const vebo = row.number('vebo', POSITIVE_VOLTS);
  const ic = row.number('ic', { unit: 'A', from: 1e-5, to: 1000, wanted: 'amperes: 200m for 200 mA' });
  const pd = row.number('pd', { unit: 'W', from: 1e-3, to: 1000, wanted: 'watts: 150m for 150 mW' });
  const ft = row.number('ft', { unit: 'Hz', from: 1e3, to: 1e11, wanted: 'hertz: 5M for 5 MHz' });
  if (type === '' || kind === undefined || material === undefined) return undefined;
  if (kind === 'transistor' && polarity === undefined) return undefined;
  const usual = USUAL[kind][material];
  return {
    type,
    kind,
    ...(polarity === undefined ? {} : { polarity }),
    material,
    vj: vj ?? usual.vj,
    ij: ij ?? usual.ij,
    hfeMin,
    hfeTyp,
    hfeMax,
    icbo: icbo ?? usual.icbo,
    rs: rs ?? 0,
    n: n ?? usual.n,
    vceo,
    vcbo,
    vebo,
    ic,
    pd,
    ft,
    source: row.raw('source'),
  };
}

function word<W extends string>(row: SheetRow, column: string, known: readonly W[]): W | undefined {
  const text = row.needed(column, `one of ${known.join(', ')}`);
  const found = known.find((name) => name === text.toLowerCase());
  if (found === undefined && text !== '')
    row.error('unknown-word', column, `${shown(text)} is not known; it is one of ${known.join(', ')}`);
  return found;
}
