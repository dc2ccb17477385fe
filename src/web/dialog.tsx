import { type ReactNode, useEffect, useId, useRef } from 'react';

/** A window before the page, closed by Escape, by its button, and by a press beside it. */
export function Dialog({
  title,
  className,
  onClose,
  children,
}: {
  readonly title: string;
  readonly className?: string;
  readonly onClose: () => void;
  readonly children: ReactNode;
}) {
  const element = useRef<HTMLDialogElement>(null);
  const heading = useId();
  useEffect(() => {
    const dialog = element.current;
    if (dialog && !dialog.open) {
      dialog.showModal();
      // Who opens it to write wants to write, and not to close it.
      dialog.querySelector('textarea')?.focus();
    }
    return () => dialog?.close();
  }, []);
  return (
    // biome-ignore lint/a11y/useKeyWithClickEvents: Escape closes it, which the element does by itself.
    <dialog
      ref={element}
      className={className}
      aria-labelledby={heading}
      onClose={onClose}
      onClick={(event) => event.target === element.current && onClose()}
    >
      <div className="dialog-head">
        <h2 id={heading}>{title}</h2>
        <button type="button" className="button" onClick={onClose}>
          Close
        </button>
      </div>
      {children}
    </dialog>
  );
}
