import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { NODE_RANGE, nodeFault } from '../../bin/node-version.js';

describe('the version of Node.js', () => {
  it('package.json states the range that is checked at the start', () => {
    const text = readFileSync(new URL('../../package.json', import.meta.url), 'utf8');
    expect(JSON.parse(text).engines.node).toBe(NODE_RANGE);
  });

  it.each(['20.19.0', '20.20.2', '22.12.0', '22.23.3', '24.0.0', '24.1.2', '25.0.0', '30.0.0'])(
    '%s can run the program',
    (version) => {
      expect(nodeFault(version)).toBeUndefined();
    },
  );

  it.each(['10.24.1', '18.20.8', '20.18.3', '21.7.3', '22.11.0', '23.11.0', '20.9.0'])(
    '%s cannot, and the message names it and the range',
    (version) => {
      expect(nodeFault(version)).toContain(NODE_RANGE);
      expect(nodeFault(version)).toContain(version);
    },
  );

  it('what is loaded before the check has no static import', () => {
    for (const file of ['bin/node-version.js', 'bin/sisterboard.js', 'scripts/run.js']) {
      const text = readFileSync(new URL(`../../${file}`, import.meta.url), 'utf8');
      expect(text).not.toMatch(/^\s*import\s*[^(]/m);
    }
  });
});
