import { defineConfig } from "@playwright/test";

import base from "./playwright.config.ts";

/** `./run.sh --gallery`: a picture of every state in every set of colours, and a page that shows them all. */
export default defineConfig({
  ...base,
  use: { ...base.use, actionTimeout: 10_000 },
  testMatch: "gallery.pages.ts",
  timeout: 900_000,
});
