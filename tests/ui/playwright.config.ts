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
      executablePath: process.env["CHROMIUM"] ?? "/usr/bin/chromium",
      args: ["--no-sandbox"],
    },
  },
});
