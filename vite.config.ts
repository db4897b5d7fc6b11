import { defineConfig } from 'vite'

/** Builds the gauge page of web/ into web/dist, which the service serves as it is. */
export default defineConfig({
  root: 'web',
  base: './',
  publicDir: false,
  build: { outDir: 'dist', emptyOutDir: true, target: 'es2022', assetsInlineLimit: 0 },
})
