import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { formatFindings } from './finding.ts';
import { eachRow, type RawRow, rowText } from './table.ts';
import { folder, SOUND, withPart } from './test-folder.ts';

const rowsOf = (text: string, separator = ','): RawRow[] => {
  const rows: RawRow[] = [];
  eachRow(text, separator, (row) => rows.push(row) > 0);
  return rows;
};
const cellsOf = (text: string, separator?: string): (readonly string[] | undefined)[] =>
  rowsOf(text, separator).map(({ cells }) => cells);
const parts = SOUND['parts.csv']!;
const readings = SOUND['readings.csv']!;

describe('a comma-separated text', () => {
  it('gives back the cells it was made of', () => {
    const cell = fc.string({ unit: fc.constantFrom('a', 'Ω', ' ', ',', ';', '"', '\n', '\r', '\t', '=') });
    // A row of one empty cell is a blank line, which has no cells to tell.
    const row = fc.array(cell, { minLength: 1, maxLength: 5 });
    fc.assert(
      fc.property(
        fc.array(row),
        fc.constantFrom(',', ';', '\t'),
        fc.constantFrom('\n', '\r\n', '\r'),
        (rows, separator, end) => {
          const text = rows.map((cells) => rowText(cells, separator) + end).join('');
          expect(cellsOf(text, separator)).toEqual(rows);
        },
      ),
    );
  });

  // RFC 4180, section 2: its definitions, with texts of our own.
  it.each([
    [
      'ends its last row with or without a line end',
      'aa,b\r\nc,d',
      [
        ['aa', 'b'],
        ['c', 'd'],
      ],
    ],
    ['keeps spaces', ' a , b ', [[' a ', ' b ']]],
    ['may have quoted cells', '"aa","b"\n', [['aa', 'b']]],
    [
      'may hold line ends and commas in quotes',
      '"a\r\na",b\n"c,c",d',
      [
        ['a\r\na', 'b'],
        ['c,c', 'd'],
      ],
    ],
    ['doubles a quotation mark within quotes', '"a""b"', [['a"b']]],
    [
      'has an empty cell after a last comma',
      'a,\n,',
      [
        ['a', ''],
        ['', ''],
      ],
    ],
    ['mixes line ends', 'a\rb\nc\r\nd', [['a'], ['b'], ['c'], ['d']]],
    ['takes a quotation mark inside a bare cell as it is', '3" pipe,b', [['3" pipe', 'b']]],
  ])('%s', (_, text, cells) => {
    expect(cellsOf(text)).toEqual(cells);
  });

  it('names the row where a quotation mark opens that is never closed, and reads on in the next line', () => {
    const rows = rowsOf('a,b\nc,"d\ne,f\n');
    expect(rows.map(({ cells }) => cells)).toEqual([['a', 'b'], undefined, ['e', 'f']]);
    expect(rows[1]).toMatchObject({ row: 2, fault: { code: 'quote', cell: 1 } });
    expect(rows[1]!.fault!.message).toContain('opens "\\"d" is never closed');
  });

  it('names the row where a closed quotation goes on', () => {
    expect(rowsOf('a,"b"c\nd,e')[0]!.fault!.message).toContain('double a quotation mark');
    expect(cellsOf('a,"b"c\nd,e')[1]).toEqual(['d', 'e']);
  });
});

describe('a table', () => {
  it('counts its rows as a spreadsheet does, blank ones and those of several lines too', () => {
    const { findings } = folder(
      withPart('ADD,R8,resistor,,1k,,1=OUT 2=0V,"two\nlines"\n\nADD,X1,wire,,1k,,1=OUT 2=0V,'),
    );
    expect(findings.map(({ row }) => row)).toEqual([12]);
  });

  it('names the column of a broken quotation', () => {
    const { findings, machine } = folder(withPart('ADD,R8,resistor,,1k,,1=OUT 2=0V,"never closed'));
    expect(formatFindings(findings)).toContain('parts.csv row 10 column note: the quotation mark that opens');
    expect(machine?.parts.length).toBe(8);
  });

  it('has its columns in any order, headed in any case, with spaces around', () => {
    const lines = parts.trimEnd().replace('"bias, off"', 'bias').split('\n');
    const turned = lines.map((line) => line.split(',').reverse().join(' , ')).join('\n');
    const { machine, findings } = folder({ 'parts.csv': turned.replace('tolerance', 'Tolerance') });
    expect(findings).toEqual([]);
    const sound = folder({ 'parts.csv': lines.join('\n') }).machine!;
    expect(machine!.parts.map((part) => ({ ...part, note: part.note.trim() }))).toEqual(sound.parts);
  });

  it('is read with semicolons and decimal commas, which is told once', () => {
    const foreign = readings.replace('-0.12', '-0,12').replace('-11.8', '-11,8').replace('0.05', '0,05');
    const cells = foreign
      .trimEnd()
      .split('\n')
      .map((line) => line.split(','));
    // The decimal commas were split as well: join each number again.
    const text = cells
      .map((row) => row.join(';').replace('-0;12', '-0,12').replace('-11;8;0;05', '-11,8;0,05'))
      .join('\r\n');
    const { machine, findings } = folder({ 'readings.csv': text });
    expect(machine?.readings).toEqual(folder().machine?.readings);
    expect(formatFindings(findings)).toBe(
      'warning: readings.csv: read as cells parted by semicolons and numbers with a decimal comma ("-0,12"); the format asks for commas between cells and a decimal point',
    );
  });

  it('is read with tabs', () => {
    const { machine, findings } = folder({
      'conditions.csv': SOUND['conditions.csv']!.replaceAll(',', '\t'),
    });
    expect(machine).toEqual(folder().machine);
    expect(findings.map(({ severity, code }) => `${severity} ${code}`)).toEqual(['warning separator']);
  });

  it('is read with decimal commas in quotes', () => {
    const { machine, findings } = folder({ 'readings.csv': readings.replace('-11.8', '"-11,8"') });
    expect(machine).toEqual(folder().machine);
    expect(findings.map(({ severity, code }) => `${severity} ${code}`)).toEqual(['warning decimal-comma']);
  });

  it('does not guess between a decimal comma and one of thousands', () => {
    const { findings } = folder({ 'parts.csv': `${parts}ADD,R9,resistor,,"4,700",,1=OUT 2=0V,\n` });
    expect(formatFindings(findings)).toBe(
      'parts.csv row 10 column value: "4,700" can be 4.7 or 4700; write the one that is meant',
    );
    const mixed = folder({
      'parts.csv': `${parts}ADD,R8,resistor,,"2,2k",,1=OUT 2=0V,\nADD,R9,resistor,,4.700,,1=OUT 2=0V,\n`,
    });
    expect(formatFindings(mixed.findings)).toContain(
      'parts.csv row 11 column value: "4.700" can be 4.7 or 4700',
    );
  });

  it('takes a comma with three digits for a decimal one where others show it', () => {
    const { machine } = folder({
      'readings.csv': readings.replace('-0.12', '"-1,125"').replace('-11.8', '"-11,8"'),
    });
    expect(machine?.readings.map(({ value }) => value)).toEqual([-1.125, -11.8]);
  });

  it('with a decimal comma out of quotes has a cell too many, which is named', () => {
    const { findings } = folder({ 'readings.csv': readings.replace('-11.8', '-11,8') });
    expect(formatFindings(findings)).toContain(
      'readings.csv row 3: 11 cells under 10 headings; put a text or number that holds a comma in quotes',
    );
  });

  it('may have empty cells beyond its headings', () => {
    expect(folder({ 'parts.csv': parts.replaceAll('\n', ',,\n') }).findings).toEqual([]);
  });

  it.each([
    ['lacks a needed column', parts.replace(',pins', ',pin'), 'column pins is missing; did you mean pin?'],
    ['has a column twice', parts.replace('value,tolerance', 'value,value'), 'two columns are headed value'],
    ['is empty', '', 'the file is empty; its first row names the columns: board,ref,kind'],
    ['has no heading', 'ADD,R1,1k\n', 'row 1 is "ADD,R1,1k"; it must name the columns'],
  ])('that %s is refused', (_, text, says) => {
    const { findings, source } = folder({ 'parts.csv': text });
    expect(findings.map(({ message }) => message).join('\n')).toContain(says);
    expect(source.refused.has('parts.csv')).toBe(true);
  });

  it('with a column that is misspelt is read without it, with a warning', () => {
    const { findings } = folder({ 'parts.csv': parts.replace('tolerance', 'tolerence') });
    expect(formatFindings(findings)).toBe(
      'warning: parts.csv row 1 column tolerence: column "tolerence" is not known and is passed through unread; did you mean tolerance?',
    );
  });

  it('under a name with a slip is named', () => {
    const { findings } = folder({ 'points.csv': undefined, 'Points.csv': 'point\nOUT\n' });
    expect(formatFindings(findings)).toContain('points.csv: there is no points.csv, but a Points.csv');
  });
});
