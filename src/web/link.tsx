import type { AnchorHTMLAttributes, MouseEvent } from 'react';
import { go } from './router.ts';

/** A link to a page of ours. With a modifier it does what links do. */
export function Link({
  to,
  onClick,
  ...rest
}: AnchorHTMLAttributes<HTMLAnchorElement> & { readonly to: string }) {
  const follow = (event: MouseEvent<HTMLAnchorElement>) => {
    onClick?.(event);
    if (event.defaultPrevented || event.button !== 0) return;
    if (event.metaKey || event.ctrlKey || event.shiftKey || event.altKey) return;
    event.preventDefault();
    go(to);
  };
  return <a {...rest} href={to} onClick={follow} />;
}
