import { defineConfig } from "@playwright/test";

export default defineConfig({
  testDir: ".",
  fullyParallel: true,
  workers: 2,
  reporter: "list",
  outputDir: "../../out/ui",
  use: {
    browserName: "chromium",
    launchOptions: {
      // The same browser without its own window and menus: it draws the page alike and takes two thirds of the time.
      executablePath: process.env["CHROMIUM"] ?? "/usr/bin/chromium-headless-shell",
      args: ["--no-sandbox"],
    },
  },
});
