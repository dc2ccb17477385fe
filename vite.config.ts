import react from '@vitejs/plugin-react';
import { defineConfig } from 'vite';

/** The page: src/web bundled into dist/web, with nothing inlined, since its security policy takes files only. */
export default defineConfig({
  root: 'src/web',
  plugins: [react()],
  build: {
    outDir: '../../dist/web',
    emptyOutDir: true,
    assetsInlineLimit: 0,
    modulePreload: { polyfill: false },
    target: 'es2022',
    chunkSizeWarningLimit: 700,
  },
});
