import { useState } from 'react';
import { Dialog } from './dialog.tsx';
import { Caps } from './frame.tsx';
import { changeSettings, type Settings, useSettings } from './settings.ts';

/** A key in words: what is engraved on it and what it does, in the order of need. */
export interface KeyWords {
  readonly caps: readonly string[];
  readonly does: string;
  /** Stands at the foot of the page as well. */
  readonly foot?: boolean;
  /** Does the same; the caps are then a button. */
  readonly press?: () => unknown;
}

const EVERYWHERE: readonly KeyWords[] = [
  { caps: ['G'], does: 'the pages; then the letter of one' },
  { caps: ['?'], does: 'this list' },
  { caps: ['Tab'], does: 'to the next button or field' },
];

export function KeysDialog({
  keys,
  onClose,
}: {
  readonly keys: readonly KeyWords[];
  readonly onClose: () => void;
}) {
  const chosen = useSettings();
  return (
    <Dialog title="Keys and settings" className="keys-dialog" onClose={onClose}>
      <dl>
        {[...keys, ...EVERYWHERE].map((one) => (
          <KeyRow
            key={one.does}
            {...one}
            {...(one.press
              ? {
                  press: () => {
                    onClose();
                    one.press?.();
                  },
                }
              : {})}
          />
        ))}
      </dl>
      <section>
        <h3>Settings of this browser</h3>
        <div className="settings">
          <Choice
            name="Ground"
            value={chosen.theme}
            options={{ system: 'as the computer', light: 'light', dark: 'dark' }}
            onChange={(theme) => changeSettings({ theme })}
          />
          <Choice
            name="Size"
            value={chosen.size}
            options={{ '100': '100 %', '125': '125 %', '150': '150 %' }}
            onChange={(size) => changeSettings({ size })}
          />
          <label>
            <input
              type="checkbox"
              checked={chosen.speech}
              onChange={(event) => changeSettings({ speech: event.target.checked })}
            />
            Speak the next point
          </label>
          <FootKey value={chosen.footKey} />
        </div>
      </section>
    </Dialog>
  );
}

function KeyRow({ caps, does, press }: KeyWords) {
  return (
    <>
      <dt>
        <Caps caps={caps} />
      </dt>
      <dd>
        {press ? (
          <button type="button" className="key-button" onClick={press}>
            {does}
          </button>
        ) : (
          does
        )}
      </dd>
    </>
  );
}

function Choice<T extends string>({
  name,
  value,
  options,
  onChange,
}: {
  readonly name: string;
  readonly value: T;
  readonly options: Readonly<Record<T, string>>;
  readonly onChange: (value: T) => void;
}) {
  return (
    <fieldset>
      <legend>{name}</legend>
      {(Object.entries(options) as [T, string][]).map(([option, words]) => (
        <label key={option}>
          <input type="radio" name={name} checked={option === value} onChange={() => onChange(option)} />
          {words}
        </label>
      ))}
    </fieldset>
  );
}

/** Any key can be taught as the foot switch: press the button, then the switch. */
function FootKey({ value }: { readonly value: Settings['footKey'] }) {
  const [teaching, setTeaching] = useState(false);
  return (
    <p>
      Foot switch sends <kbd>{value}</kbd>{' '}
      <button
        type="button"
        className="button"
        onClick={() => setTeaching(true)}
        onBlur={() => setTeaching(false)}
        onKeyDown={(event) => {
          if (!teaching || event.key === 'Tab' || event.key === 'Escape') return;
          event.preventDefault();
          event.stopPropagation();
          changeSettings({ footKey: event.key });
          setTeaching(false);
        }}
      >
        {teaching ? 'Press the switch' : 'Teach another key'}
      </button>
    </p>
  );
}
