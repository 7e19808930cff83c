import { defineConfig } from "@playwright/test";

import base from "./playwright.config.ts";

/** `npx playwright test -c contact.config.ts`: pictures of every card, upright and wide, to look at. */
export default defineConfig({
  ...base,
  use: { ...base.use, actionTimeout: 10_000 },
  testMatch: "contact.pages.ts",
  timeout: 600_000,
});
