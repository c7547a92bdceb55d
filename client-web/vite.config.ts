// Build and test configuration of the web client. It must not know a server's address: the built files are
// served by the same server that they talk to.
import { svelte } from '@sveltejs/vite-plugin-svelte';
import { defineConfig } from 'vitest/config';
import { serviceWorker } from './src/offline/build.ts';

export default defineConfig({
  plugins: [svelte(), serviceWorker()],
  build: { target: 'es2022', outDir: 'dist', emptyOutDir: true, sourcemap: false, rolldownOptions: { input: ['index.html', 'review.html'] } },
  test: { include: ['src/**/*.test.ts'], environment: 'node' },
});
