import { describe, expect, it } from 'vitest';
import { type Finding, FindingList, formatFindings } from './finding.ts';
import { jsonFault } from './json-fault.ts';
import { nearest } from './nearest.ts';

const finding = (over: Partial<Finding> = {}): Finding => ({
  severity: 'error',
  code: 'missing',
  file: 'parts.csv',
  row: 14,
  column: 'pins',
  message: 'pin b missing',
  ...over,
});

describe('findings for a person', () => {
  it('are a line each, errors first, with file, row and column', () => {
    const lines = formatFindings([
      finding({ severity: 'warning', message: 'doubtful' }),
      finding(),
      finding({ file: 'machine.json', row: undefined, column: 'rails[2].volts', message: 'missing' }),
      finding({ file: 'machine.json', row: 3, column: '7', message: 'not valid JSON' }),
      finding({ row: undefined, column: undefined, message: 'not in the folder' }),
    ]);
    expect(lines.split('\n')).toEqual([
      'parts.csv row 14 column pins: pin b missing',
      'machine.json rails[2].volts: missing',
      'machine.json line 3 column 7: not valid JSON',
      'parts.csv: not in the folder',
      'warning: parts.csv row 14 column pins: doubtful',
    ]);
  });

  it('end with a count when there are too many', () => {
    const many = [...Array(70).fill(finding()), ...Array(1200).fill(finding({ severity: 'warning' }))];
    const lines = formatFindings(many).split('\n');
    expect(lines.length).toBe(61);
    expect(lines.at(-1)).toBe('and 10 errors and 1,200 warnings more');
  });

  it('are kept up to a hundred of a kind and counted beyond', () => {
    const list = new FindingList();
    for (let row = 0; row < 5000; row++) list.error('missing', { file: 'parts.csv', row }, 'x');
    list.warning('missing', { file: 'parts.csv' }, 'another');
    expect(list.all().length).toBe(102);
    expect(list.all().at(-1)?.message).toContain('4900 more');
  });

  it('do not carry a long text with them', () => {
    const list = new FindingList();
    list.error('missing', { file: 'parts.csv', found: 'x'.repeat(1e6) }, 'x');
    expect(list.all()[0]!.found!.length).toBe(61);
  });
});

describe('names that may be meant', () => {
  it.each([
    ['2N1350', ['2N1305', '2N1307', '1N34A'], ['2N1305']],
    ['resistr', ['resistor', 'transistor'], ['resistor']],
    ['oc71', ['OC71', 'OC72'], ['OC71']],
    ['A', ['B', 'AB', 'CDE'], ['AB', 'B']],
    ['entirely', ['different', 'names'], []],
  ])('for %s among %j are %j', (name, candidates, likely) => {
    expect(nearest(name, candidates)).toEqual(likely);
  });
});

describe('a fault in JSON', () => {
  it.each([
    ['{ "a": 1,\n  "b": 2,\n}', 3, 1, 'the name of a field in double quotes'],
    ['{ "a": 1\n  "b": 2 }', 2, 3, 'a comma or }'],
    ['{ "a" 1 }', 1, 7, 'a colon'],
    ['[1, 2', 1, 6, 'a comma or ]'],
    ['{ "a": "no end\n }', 1, 8, 'a text that ends'],
    ['{ "a": .5 }', 1, 8, 'a value'],
    ["{ 'a': 1 }", 1, 3, 'the name of a field'],
    ['{} {}', 1, 4, 'nothing more'],
    ['', 1, 1, 'a value'],
    [`"${'\\'.repeat(100_001)}`, 1, 1, 'a text that ends'],
    ['['.repeat(100_000), 1, 202, 'nothing nested'],
  ])('%# is placed by line and column, with what belongs there', (text, line, column, wanted) => {
    expect(() => JSON.parse(text)).toThrow();
    const fault = jsonFault(text);
    expect(fault).toMatchObject({ line, column });
    expect(fault.wanted).toContain(wanted);
  });
});
