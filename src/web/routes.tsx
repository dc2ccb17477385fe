/** Which page belongs to which path; each is fetched when it is first opened. */

import { type ComponentType, lazy, Suspense } from 'react';
import { Failure } from './failure.tsx';
import { Frame } from './frame.tsx';
import { Link } from './link.tsx';
import { matched, usePlace } from './router.ts';

export interface PageProps {
  /** What stands in the path: `machine`, and what else the pattern names. */
  readonly at: Readonly<Record<string, string>>;
  readonly query: URLSearchParams;
}

const ROUTES: readonly { readonly pattern: string; readonly Page: ComponentType<PageProps> }[] = [
  { pattern: '/', Page: lazy(() => import('./machines/machines-page.tsx')) },
  { pattern: '/new', Page: lazy(() => import('./machines/new-machine-page.tsx')) },
  { pattern: '/import', Page: lazy(() => import('./machines/import-page.tsx')) },
  { pattern: '/m/:machine/board', Page: lazy(() => import('./board/board-page.tsx')) },
  { pattern: '/m/:machine/board/:board', Page: lazy(() => import('./board/board-page.tsx')) },
  { pattern: '/m/:machine/sheets', Page: lazy(() => import('./sheets/sheets-page.tsx')) },
  { pattern: '/m/:machine/sheets/:sheet', Page: lazy(() => import('./sheets/sheets-page.tsx')) },
  { pattern: '/m/:machine/changes', Page: lazy(() => import('./machines/changes-page.tsx')) },
  { pattern: '/m/:machine/bench', Page: lazy(() => import('./bench/bench-page.tsx')) },
  { pattern: '/m/:machine/flow', Page: lazy(() => import('./flow/flow-page.tsx')) },
  { pattern: '/m/:machine/waves', Page: lazy(() => import('./captures/captures-page.tsx')) },
  { pattern: '/m/:machine/waves/expected', Page: lazy(() => import('./captures/expected-page.tsx')) },
  { pattern: '/m/:machine/waves/:capture', Page: lazy(() => import('./captures/waves-page.tsx')) },
  { pattern: '/m/:machine/compare', Page: lazy(() => import('./compare/compare-page.tsx')) },
  { pattern: '/m/:machine/log', Page: lazy(() => import('./log/log-page.tsx')) },
  { pattern: '/m/:machine/print/sheet', Page: lazy(() => import('./print/sheet-page.tsx')) },
  { pattern: '/m/:machine/print/repair', Page: lazy(() => import('./print/repair-page.tsx')) },
];

export function Pages() {
  const { path, query } = usePlace();
  for (const { pattern, Page } of ROUTES) {
    const at = matched(pattern, path);
    if (at) {
      return (
        <Failure key={`${pattern} ${at.machine ?? ''}`}>
          <Suspense fallback={null}>
            <Page key={at.machine ?? ''} at={at} query={query} />
          </Suspense>
        </Failure>
      );
    }
  }
  return (
    <Frame title="No such page">
      <div className="page-body">
        <h1>There is no page at {path}</h1>
        <p>
          <Link to="/">All machines</Link>
        </p>
      </div>
    </Frame>
  );
}
