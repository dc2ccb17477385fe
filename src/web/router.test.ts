import { describe, expect, it, vi } from 'vitest';

vi.stubGlobal('window', { addEventListener: () => undefined });
const { address, matched } = await import('./router.ts');

describe('a path', () => {
  it('is matched part by part, and names what stands in it', () => {
    expect(matched('/m/:machine/board/:board', '/m/7/board/ADD%201')).toEqual({
      machine: '7',
      board: 'ADD 1',
    });
    expect(matched('/m/:machine/bench', '/m/7/log')).toBeUndefined();
    expect(matched('/m/:machine/bench', '/m/7/bench/more')).toBeUndefined();
    expect(matched('/', '/')).toEqual({});
  });

  it('with a broken escape is taken as it stands', () => {
    expect(matched('/m/:machine/bench', '/m/%zz/bench')).toEqual({ machine: '%zz' });
  });

  it('carries the query that is given, and not what is undefined', () => {
    expect(address('/m/7/bench', { unit: 'east', state: '5 + 3', against: undefined })).toBe(
      '/m/7/bench?unit=east&state=5+%2B+3',
    );
    expect(address('/m/7/bench', {})).toBe('/m/7/bench');
  });
});
