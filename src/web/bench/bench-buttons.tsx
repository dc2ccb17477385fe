/** What a thumb reaches on a page that is not wide. */
export function BenchButtons({
  main,
  unit,
  twin,
  onMain,
  onWhy,
  onCannotReach,
  onTwin,
  onBack,
}: {
  /** What the main button says. */
  readonly main: string;
  readonly unit: string;
  readonly twin: boolean;
  readonly onMain: () => void;
  readonly onWhy: () => void;
  readonly onCannotReach: () => void;
  readonly onTwin: () => void;
  readonly onBack: () => void;
}) {
  return (
    <div className="bench-buttons">
      <button type="button" className="button main" onClick={onMain}>
        {main}
      </button>
      <button type="button" className="button" onClick={onWhy}>
        Why
      </button>
      <button type="button" className="button" onClick={onCannotReach}>
        Cannot reach
      </button>
      <button type="button" className="button" onClick={onTwin}>
        {twin ? `Read ${unit}` : 'Read the twin'}
      </button>
      <button type="button" className="button" onClick={onBack}>
        Take back
      </button>
    </div>
  );
}
