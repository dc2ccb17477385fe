import { expect, it } from 'vitest';
import { stepsOf } from './steps.ts';

it('steps of a state are parted by semicolons', () => {
  expect(stepsOf('STOP down; datum 0, all switches closed ;press CLEAR;')).toEqual([
    'STOP down',
    'datum 0, all switches closed',
    'press CLEAR',
  ]);
  expect(stepsOf('switch on, touch nothing')).toEqual(['switch on, touch nothing']);
  expect(stepsOf(' ')).toEqual([]);
});
