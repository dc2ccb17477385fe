/** What stands in the place of the value field while no value can be taken. */

import { type ReactNode, useEffect, useRef } from 'react';
import { CautionPlate } from '../marks.tsx';

/** The one thing to do next. It takes the focus, so that Enter does it. */
export function MainButton({
  onPress,
  children,
}: {
  readonly onPress: () => void;
  readonly children: ReactNode;
}) {
  const button = useRef<HTMLButtonElement>(null);
  useEffect(() => button.current?.focus(), []);
  return (
    <button ref={button} type="button" className="button main done-button" onClick={onPress}>
      {children}
    </button>
  );
}

/** High voltage or mains: the plate stands where the field would be, until its line is confirmed. */
export function Gate({ text, onConfirm }: { readonly text: string; readonly onConfirm: () => void }) {
  const button = useRef<HTMLButtonElement>(null);
  useEffect(() => button.current?.focus(), []);
  return (
    <div className="gate">
      <CautionPlate text={text} />
      <button ref={button} type="button" className="button" onClick={onConfirm}>
        Read and understood
      </button>
    </div>
  );
}
