// The weeks and the follow-up on a practice in which weeks have run (`cargo build --example weeks` makes it; everybody is invented).

import { execFile } from "node:child_process";
import { mkdtemp, rm } from "node:fs/promises";
import { tmpdir } from "node:os";
import path from "node:path";
import { promisify } from "node:util";
import { binary, ensure, ensureAccessible, ensureNoSideways, passphrase, shot, startBrowser, startDesk, watchedPage } from "./house.mjs";

const run = promisify(execFile);
const maker = path.join(path.dirname(binary), "examples", "weeks");
const DAY = "2026-03-01";

async function withWeeks(use, options = {}) {
  const folder = await mkdtemp(path.join(tmpdir(), "tragion-weeks-"));
  await run(maker, [path.join(folder, "cabinet"), passphrase, DAY]).catch((e) => {
    throw new Error(`${maker} did not run: cargo build --release -p app --example weeks (${e.message.split("\n")[0]})`);
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
  ["weeks-all", "weeks"],
  ["weeks-new", "clients/1/weeks/new"],
  ["weeks-plan", "clients/3/weeks/3"],
  ["weeks-follow", "clients/1/weeks/1/follow"],
  ["weeks-follow-early", "clients/3/weeks/3/follow"],
  ["weeks-follow-sides", "clients/4/weeks/4/follow"],
  ["weeks-client", "clients/3"],
];

export default [
  {
    name: "weeks: every page is accessible at 1440, 820, 360 and 320, by day and by night",
    run: () =>
      withWeeks(async ({ page, desk, calm }) => {
        for (const [name, at] of PAGES) {
          await page.goto(`${desk.address}${at}`, { waitUntil: "networkidle" });
          for (const width of [1440, 820, 360, 320]) {
            await page.setViewportSize({ width, height: 900 });
            for (const hidden of await page.locator("details.numbers, .aid details").all()) await hidden.evaluate((d) => (d.open = true));
            await ensureAccessible(page, `${name} at ${width}`);
            await ensureNoSideways(page, `${name} at ${width}`);
            const svg = await page.locator("figure.chart > svg[role=img]:visible").count();
            const figures = await page.locator("figure.chart").count();
            ensure(svg === figures, `${name} at ${width}: ${svg} of ${figures} charts are seen, each once`);
            for (const hidden of await page.locator("details.numbers, .aid details").all()) await hidden.evaluate((d) => (d.open = false));
            if (width !== 320) await shot(page, `${name}-${width}`);
          }
          await page.emulateMedia({ colorScheme: "dark" });
          await page.setViewportSize({ width: 820, height: 900 });
          await ensureAccessible(page, `${name} at night`);
          await shot(page, `${name}-night`);
          await page.emulateMedia({ colorScheme: "light" });
        }
        calm();
      }),
  },
  {
    name: "weeks: small targets are large enough for a finger",
    run: () =>
      withWeeks(async ({ page, desk }) => {
        await page.setViewportSize({ width: 360, height: 740 });
        await page.goto(`${desk.address}clients/3/weeks/3`, { waitUntil: "networkidle" });
        const small = await page.locator("table.days a, main .button, main button, .part .links a").evaluateAll((all) =>
          all.map((a) => [a.textContent.trim(), a.getBoundingClientRect()]).filter(([, r]) => r.height < 44 || r.width < 40).map(([t, r]) => `${t} ${r.width}x${r.height}`),
        );
        ensure(small.length === 0, `too small: ${small.slice(0, 5).join("; ")}`);
      }),
  },
  {
    name: "weeks: without script a plan is reckoned, mended, kept, and a day typed, by keyboard",
    run: () =>
      withWeeks(
        async ({ page, desk }) => {
          await page.goto(`${desk.address}clients/2/weeks/new`);
          const finding = () => page.locator(".aid .finding").textContent();
          const usual = await finding();
          await page.locator("#baseline").fill("10");
          await page.locator("#size").fill("0,05");
          await page.locator("button[value=look]").focus();
          // The page that comes, not the one that still stands.
          await Promise.all([page.waitForEvent("load"), page.keyboard.press("Enter")]);
          ensure((await page.locator("#baseline").inputValue()) === "10", "what was typed is still there");
          const more = await finding();
          ensure(/80 of 100/.test(usual) && usual !== more, `more baseline days find more: ${usual} / ${more}`);
          const size = (said) => Number(said.match(/change of ([\d.]+)/)[1]);
          ensure(size(more) < size(usual), `${size(more)} is smaller than ${size(usual)}`);
          ensure((await page.locator(".aid").textContent()).includes("can't be found"), "a size too small is said");
          await page.locator("#days").fill("five");
          await Promise.all([page.waitForEvent("load"), page.locator("button[value=keep]").press("Enter")]);
          ensure((await page.locator("#days").inputValue()) === "five", "nothing typed is lost");
          await page.locator('.missing a[href="#days"]').press("Enter");
          await page.locator("#days").fill("28");
          await page.locator("#size").fill("2");
          await page.locator("button[value=keep]").press("Enter");
          await page.waitForURL(/weeks\/\d+\?done=saved/);

          await page.goto(`${desk.address}clients/3/weeks/3`);
          await page.locator('table.days a[href*="2026-02-28"]').press("Enter");
          await page.waitForURL(/day=2026-02-28/);
          await page.locator("#done-yes").press("Space");
          await page.locator("#minutes").fill("7");
          await page.locator("#context-allergy").press("Space");
          await page.locator("form.type-day button[type=submit]").press("Enter");
          await page.waitForURL(/done=saved/);
          await page.goto(`${desk.address}clients/3/weeks/3?day=2026-02-28`);
          ensure((await page.locator("#minutes").inputValue()) === "7", "the day is kept");
          ensure(await page.locator("#context-allergy").isChecked(), "its mark too");
        },
        { javaScriptEnabled: false },
      ),
  },
];
