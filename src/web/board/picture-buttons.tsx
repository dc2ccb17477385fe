import type { PhotographView } from '../../server/index.ts';
import { AddPhotograph } from './photographs.tsx';

/** What can be done with the picture; each has its key, too. */
export function PictureButtons({
  unit,
  whole,
  placing,
  photograph,
  photographs,
  hasTwin,
  twin,
  asDrawing,
  onNearer,
  onWider,
  onPlacing,
  onTurn,
  onMirror,
  onTwin,
  onDrawing,
  onFile,
  onRemove,
}: {
  readonly unit: string | undefined;
  /** The whole board is seen. */
  readonly whole: boolean;
  readonly placing: boolean;
  /** The one that is shown; undefined for the drawing. */
  readonly photograph: PhotographView | undefined;
  /** Of this side, how many. */
  readonly photographs: number;
  readonly hasTwin: boolean;
  /** The twin's is shown. */
  readonly twin: boolean;
  readonly asDrawing: boolean;
  readonly onNearer: () => void;
  readonly onWider: () => void;
  readonly onPlacing: () => void;
  readonly onTurn: () => void;
  readonly onMirror: () => void;
  readonly onTwin: () => void;
  readonly onDrawing: () => void;
  readonly onFile: (file: File) => void;
  readonly onRemove: () => void;
}) {
  return (
    <div className="picture-buttons">
      <button type="button" className="button" onClick={onNearer}>
        Closer
      </button>
      <button type="button" className="button" onClick={onWider} disabled={whole}>
        Wider
      </button>
      <button
        type="button"
        className={`button ${placing ? 'main' : ''}`}
        aria-pressed={placing}
        onClick={onPlacing}
      >
        {placing ? 'Placing is done' : 'Place marks'}
      </button>
      {photograph && (
        <>
          <button type="button" className="button" onClick={onTurn}>
            Turn
          </button>
          <button type="button" className="button" aria-pressed={photograph.mirrored} onClick={onMirror}>
            Mirror
          </button>
        </>
      )}
      {hasTwin && (
        <button type="button" className="button" aria-pressed={twin} onClick={onTwin}>
          {twin ? `${unit}’s photograph` : 'The twin’s'}
        </button>
      )}
      {photographs > 0 && (
        <button type="button" className="button" aria-pressed={asDrawing} onClick={onDrawing}>
          {asDrawing ? 'Photograph' : 'Drawing'}
        </button>
      )}
      <AddPhotograph label={photographs === 0 ? 'Add a photograph' : 'Another photograph'} onFile={onFile} />
      {photograph && (
        <button type="button" className="button" onClick={onRemove}>
          Remove
        </button>
      )}
    </div>
  );
}
