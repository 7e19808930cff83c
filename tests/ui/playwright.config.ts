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
      // The same browser without its own window and menus takes two thirds of the time; it draws letters a hair wider.
      executablePath: process.env["CHROMIUM"] ?? "/usr/bin/chromium-headless-shell",
      args: ["--no-sandbox"],
    },
  },
});
