import type { Finding } from '../../machine/index.ts';

/** What is wrong with a folder: errors first, each with its place and what belongs there. */
export function Findings({ findings }: { readonly findings: readonly Finding[] }) {
  const errors = findings.filter(({ severity }) => severity === 'error');
  const warnings = findings.filter(({ severity }) => severity === 'warning');
  return (
    <table className="findings">
      <thead className="label">
        <tr>
          <th scope="col">file</th>
          <th scope="col">row</th>
          <th scope="col">column</th>
          <th scope="col">what is wrong and what belongs there</th>
        </tr>
      </thead>
      <tbody>
        {[...errors, ...warnings].map(({ severity, file, row, column, message }, i) => (
          // biome-ignore lint/suspicious/noArrayIndexKey: two findings may say the same
          <tr key={i}>
            <td>{file}</td>
            <td>{row ?? ''}</td>
            <td>{column ?? ''}</td>
            <td className="finding-words">
              {severity === 'warning' && <span className="label">doubtful: </span>}
              {message}
            </td>
          </tr>
        ))}
      </tbody>
    </table>
  );
}

/** `3 errors, 1 doubtful`. */
export function findingsWords(findings: readonly { readonly severity: 'error' | 'warning' }[]): string {
  const errors = findings.filter(({ severity }) => severity === 'error').length;
  const doubts = findings.length - errors;
  const parts = [
    ...(errors > 0 ? [`${errors} ${errors === 1 ? 'error' : 'errors'}`] : []),
    ...(doubts > 0 ? [`${doubts} doubtful`] : []),
  ];
  return parts.join(', ') || 'nothing wrong';
}
