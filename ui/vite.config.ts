import { svelte } from "@sveltejs/vite-plugin-svelte";
import { defineConfig } from "vite";

export default defineConfig({
  plugins: [svelte()],
  // Relative addresses: the page is served from the binary. Nothing is inlined, so that the content
  // policy can forbid inline scripts, styles and data addresses.
  base: "./",
  build: { target: ["es2022", "safari16"], assetsInlineLimit: 0, modulePreload: { polyfill: false } },
  clearScreen: false,
});
