/** The page round the paper: choices, the button that prints, and the format, which this browser remembers. */

import { type ReactNode, useState } from 'react';
import type { MachineView } from '../../server/index.ts';
import { Frame } from '../frame.tsx';
import { useKeys } from '../keys.ts';
import type { Format } from './paper.tsx';
import './print.css';

const PLACE = 'sisterboard paper';

export function useFormat(): readonly [Format, (format: Format) => void] {
  const [format, setFormat] = useState<Format>(() => {
    try {
      return localStorage.getItem(PLACE) === 'letter' ? 'letter' : 'a4';
    } catch {
      return 'a4';
    }
  });
  const choose = (to: Format) => {
    setFormat(to);
    try {
      localStorage.setItem(PLACE, to);
    } catch {
      // A browser that keeps nothing still prints what was chosen.
    }
  };
  return [format, choose];
}

export function Printing({
  machine,
  title,
  format,
  onFormat,
  choices,
  children,
}: {
  readonly machine: MachineView;
  readonly title: string;
  readonly format: Format;
  readonly onFormat: (format: Format) => void;
  readonly choices?: ReactNode;
  readonly children: ReactNode;
}) {
  // While the fonts are on their way the browser would print in others.
  const print = () => void document.fonts.ready.then(() => window.print());
  useKeys({ Enter: print });
  return (
    <Frame
      title={title}
      className="printing"
      machine={{ id: String(machine.id), name: machine.name }}
      keys={[{ caps: ['Enter'], does: 'print', foot: true, press: print }]}
    >
      <div className="page-body">
        <div className="printing-head">
          <h1>{title}</h1>
          {choices}
          <label>
            <span className="label">Paper</span>
            <select
              className="choice"
              value={format}
              onChange={(event) => onFormat(event.target.value as Format)}
            >
              <option value="a4">A4</option>
              <option value="letter">Letter</option>
            </select>
          </label>
          <button type="button" className="button main" onClick={print}>
            Print
          </button>
        </div>
        {/* biome-ignore lint/a11y/noNoninteractiveTabindex: a region that scrolls must be reachable by the keyboard */}
        <section className="papers" aria-label="As it will be printed" tabIndex={0}>
          {children}
        </section>
      </div>
    </Frame>
  );
}
