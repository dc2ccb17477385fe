import type { FindingView } from '../../server/index.ts';
import { findingsWords } from '../machines/findings.tsx';

/** What is wrong with a sheet, each with a way to its cell. */
export function TroubleList({
  findings,
  onGo,
}: {
  readonly findings: readonly FindingView[];
  readonly onGo: (finding: FindingView) => void;
}) {
  if (findings.length === 0) return null;
  const ordered = [...findings].sort(
    (a, b) => Number(a.severity === 'warning') - Number(b.severity === 'warning'),
  );
  return (
    <details className="troubles" open={ordered.length <= 3 || ordered[0]?.severity === 'error'}>
      <summary>{findingsWords(findings)}</summary>
      <ul>
        {ordered.map((finding, i) => (
          // biome-ignore lint/suspicious/noArrayIndexKey: two findings may say the same
          <li key={i}>
            {finding.row === null ? (
              <span className="trouble-place">{finding.column ?? finding.file}</span>
            ) : (
              <button type="button" className="button plain trouble-place" onClick={() => onGo(finding)}>
                row {finding.line}
                {finding.column && `, ${finding.column}`}
              </button>
            )}
            <span>
              {finding.severity === 'warning' && <span className="label">doubtful: </span>}
              {finding.message}
            </span>
          </li>
        ))}
      </ul>
    </details>
  );
}
