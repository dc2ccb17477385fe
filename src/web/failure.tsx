import { Component, type ReactNode } from 'react';
import { Frame } from './frame.tsx';

/** What stands in the place of a page that could not be loaded, or that failed while it was shown: never an empty screen. */
export class Failure extends Component<{ readonly children: ReactNode }, { readonly error?: Error }> {
  override state: { readonly error?: Error } = {};

  static getDerivedStateFromError(error: Error) {
    return { error };
  }

  override render() {
    const { error } = this.state;
    if (error === undefined) return this.props.children;
    const unloaded = /import|module|preload|fetch/i.test(error.message);
    return (
      <Frame title="This page cannot be shown">
        <div className="page-body" role="alert">
          <h1>This page cannot be shown</h1>
          <p className="prose">
            {unloaded
              ? 'It could not be loaded. Sisterboard may have been renewed, or may have ended in its terminal.'
              : `It failed: ${error.message}.`}{' '}
            What was kept is kept.
          </p>
          <p>
            <button type="button" className="button main" onClick={() => location.reload()}>
              Load it again
            </button>
          </p>
        </div>
      </Frame>
    );
  }
}
