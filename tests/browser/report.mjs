// First and latest on the follow-up page, and the report's page, on a practice in which weeks have run (`cargo build --example report`).

import { execFile } from "node:child_process";
import { mkdtemp, readFile, rm, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import path from "node:path";
import { promisify } from "node:util";
import { binary, ensure, ensureAccessible, ensureNoSideways, passphrase, shot, startBrowser, startDesk, watchedPage } from "./house.mjs";

const run = promisify(execFile);
const maker = path.join(path.dirname(binary), "examples", "report");
const DAY = "2026-03-01";

async function withReports(use, options = {}) {
  const folder = await mkdtemp(path.join(tmpdir(), "tragion-report-"));
  const shots = [];
  for (const [name, more] of [["first", ["--plain", "--severity", "3"]], ["latest", ["--light", "led", "--yaw", "3", "--pitch", "0", "--roll", "6", "--severity", "1"]]]) {
    const photo = path.join(folder, `${name}.jpg`);
    await run(binary, ["phantom", photo, "--seed", "8", "--card", ...more]);
    const { stdout } = await run(binary, ["measure", photo, "--json"]);
    await writeFile(path.join(folder, `${name}.json`), stdout);
    shots.push(photo, path.join(folder, `${name}.json`));
  }
  await run(maker, [path.join(folder, "cabinet"), passphrase, DAY, ...shots]).catch((e) => {
    throw new Error(`${maker} did not run: cargo build --release -p app --example report (${e.message.split("\n")[0]})`);
  });
  const desk = await startDesk(["--today", DAY], { unlocked: true, folder });
  const house = await startBrowser();
  const watched = await watchedPage(house.browser, desk.address, options);
  try {
    await watched.page.goto(desk.printed, { waitUntil: "networkidle" });
    return await use({ ...watched, desk });
  } finally {
    await house.stop();
    await desk.stop();
    await rm(folder, { recursive: true, force: true });
  }
}

const PAGES = [
  ["report-follow", "clients/1/weeks/1/follow", 2],
  ["report-ask", "clients/1/weeks/1/report", 2],
  ["report-ask-care", "clients/2/weeks/2/report", 2],
  ["report-refused", "clients/3/weeks/3/report", 0],
];

export default [
  {
    name: "report: its pages are accessible at 1440, 820, 360 and 320, by day and by night",
    run: () =>
      withReports(async ({ page, desk, calm }) => {
        for (const [name, at, pictures] of PAGES) {
          await page.goto(`${desk.address}${at}`, { waitUntil: "domcontentloaded" });
          for (const width of [1440, 820, 360, 320]) {
            await page.setViewportSize({ width, height: 900 });
            for (const picture of await page.locator(".pair img").all()) await picture.scrollIntoViewIfNeeded();
            await page.waitForFunction(() => [...document.querySelectorAll(".pair img")].every((i) => i.complete), null, { timeout: 60000 });
            await ensureAccessible(page, `${name} at ${width}`);
            await ensureNoSideways(page, `${name} at ${width}`);
            const shown = await page.locator(".pair img").evaluateAll((all) => all.filter((i) => i.naturalWidth === 720 && i.alt.length > 40).length);
            ensure(shown === pictures, `${name} at ${width}: ${shown} pictures, not ${pictures}`);
            if (width !== 320) await shot(page, `${name}-${width}`);
          }
          await page.emulateMedia({ colorScheme: "dark" });
          await ensureAccessible(page, `${name} at night`);
          await page.emulateMedia({ colorScheme: "light" });
        }
        calm();
      }),
  },
  {
    name: "report: from the follow-up to the file, without script",
    run: () =>
      withReports(
        async ({ page, desk }) => {
          await page.goto(`${desk.address}clients/1/weeks/1/follow`, { waitUntil: "domcontentloaded" });
          await page.getByRole("link", { name: "Make the report" }).click({ noWaitAfter: true });
          await page.waitForURL("**/report", { waitUntil: "domcontentloaded", timeout: 60000 });
          await page.getByLabel("Deutsch").check();
          await page.getByLabel("Made by").fill("Somebody");
          const [file] = await Promise.all([page.waitForEvent("download", { timeout: 60000 }), page.getByRole("button", { name: "Save the report as PDF" }).click()]);
          ensure(file.suggestedFilename() === "report.pdf", file.suggestedFilename());
          const bytes = await readFile(await file.path());
          ensure(bytes.subarray(0, 5).toString() === "%PDF-", "the file is no PDF");
          ensure(bytes.includes(Buffer.from("/Subtype/Image")), "there are no photographs in it");
        },
        { javaScriptEnabled: false },
      ),
  },
];
