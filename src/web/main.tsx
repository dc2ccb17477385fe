/**
 * The page: everything a person sees in the browser. This file starts it; `routes.tsx` names the pages, each of which is loaded
 * when it is first opened; `live.ts` is the way to the server and keeps what was asked up to date; `frame.tsx` stands round
 * every page. Types come from the server, values only from the pure modules: what is shown is reckoned there, not here.
 */
import { createRoot } from 'react-dom/client';
import { listen } from './live.ts';
import { Pages } from './routes.tsx';
import { applySettings } from './settings.ts';
import './theme/fonts.css';
import './theme/tokens.css';
import './theme/base.css';
import './theme/frame.css';

applySettings();
listen();
createRoot(document.getElementById('page')!).render(<Pages />);
