import { defineConfig } from "vite";

declare const process: { env: Record<string, string | undefined> };

// One script and one style sheet: the page can then be copied into a single file that opens without a server.
export default defineConfig({
  base: "./",
  build: {
    target: "es2022",
    assetsInlineLimit: 0,
    chunkSizeWarningLimit: 1500,
    cssCodeSplit: false,
    modulePreload: { polyfill: false },
  },
  // The name asked for stays: the server answers only pages that it could have given itself.
  server: { proxy: { "/api": { target: process.env.CALOTTE_API ?? "http://127.0.0.1:8722", changeOrigin: false } } },
});
