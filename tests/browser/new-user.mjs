// A new user's path through the whole desk: first run, a practice, a client, consent, questions, two photographs, their measurement, the map, a
// draft, a change by hand, kept, printed, locked, unlocked. At three widths with the mouse, once with the keyboard alone.

import { execFile } from "node:child_process";
import { mkdtemp, rm } from "node:fs/promises";
import { tmpdir } from "node:os";
import path from "node:path";
import { promisify } from "node:util";
import { binary, ensure, ensureAccessible, ensureNoSideways, passphrase, shot, startDesk, watchedPage } from "./house.mjs";

const SLOW = 90000;
const run = promisify(execFile);

/** Presses Tab until the focus is on what is looked for; radios of one group are one stop, and the arrow keys go on. */
async function reach(page, selector) {
  for (let i = 0; i < 900; i += 1) {
    if (await page.evaluate((s) => document.activeElement?.matches(s), selector)) return;
    await page.keyboard.press("Tab");
  }
  throw new Error(`the keyboard does not reach ${selector} on ${page.url()}`);
}

/** How a hand works: with the mouse, or with the keyboard alone. */
const mouse = {
  press: (page, selector) => page.locator(selector).first().click(),
  tick: (page, selector) => page.locator(selector).check(),
  type: (page, selector, words) => page.fill(selector, words),
  files: (page, selector, files) => page.setInputFiles(selector, files),
};
const keys = {
  press: async (page, selector) => {
    await reach(page, selector);
    await page.keyboard.press("Enter");
  },
  tick: async (page, selector) => {
    await reach(page, selector);
    await page.keyboard.press("Space");
  },
  type: async (page, selector, words) => {
    await reach(page, selector);
    await page.keyboard.press("ControlOrMeta+a");
    await page.keyboard.type(words);
  },
  files: async (page, selector, files) => {
    await reach(page, selector);
    const asked = page.waitForEvent("filechooser");
    await page.keyboard.press("Space");
    await (await asked).setFiles(files);
  },
};

async function walk(browser, hand, { width, height, scheme, look }) {
  const folder = await mkdtemp(path.join(tmpdir(), "tragion-new-"));
  const photos = [path.join(folder, "one.jpg"), path.join(folder, "two.jpg")];
  await run(binary, ["phantom", "--seed", "11", "--plain", photos[0]]);
  await run(binary, ["phantom", "--seed", "11", "--plain", "--yaw", "1", photos[1]]);
  const desk = await startDesk(["--today", "2026-03-01"]);
  const { page, calm, close } = await watchedPage(browser, desk.address, { viewport: { width, height }, colorScheme: scheme });
  page.context().setDefaultTimeout(30000);
  const seen = async (name) => {
    await page.waitForLoadState("networkidle");
    await ensureAccessible(page, `${name} at ${width}`);
    await ensureNoSideways(page, `${name} at ${width}`);
    if (look) await shot(page, `new-${name}-${width}`);
  };
  const open = async (at) => {
    await page.waitForLoadState("networkidle");
    await page.goto(`${desk.address}${at}`, { waitUntil: "networkidle" });
  };
  try {
    await open("");
    await hand.press(page, ".top .door");
    await page.waitForURL(/\/begin/);
    await seen("begin");
    await hand.type(page, "#passphrase", passphrase);
    await hand.type(page, "#again", passphrase);
    await hand.press(page, "form[action='/begin'] button.go");
    await page.waitForURL(/\/clients/);
    await seen("clients");
    await hand.press(page, "main a.go");
    await page.waitForURL(/clients\/new/);
    await seen("client-new");
    await hand.type(page, "#name", "Ana Example");
    await hand.press(page, "main form button.go");
    await page.waitForURL(/\/clients\/1/);
    for (const kind of ["care", "photographs"]) {
      await page.waitForLoadState("networkidle");
      if (kind === "photographs") await hand.press(page, ".consents > summary");
      await hand.press(page, `form.consent:has(input[value=${kind}]) button`);
      await page.locator(`form.consent:has(input[value=${kind}]) .state strong`).waitFor({ state: "attached" });
    }
    await open("clients/1");
    await seen("consented");
    await hand.press(page, "a.button[href='/clients/1/intake']");
    await page.waitForURL(/intake/);
    await seen("intake");
    for (const group of ["today", "heart_and_neck", "eyes", "skin_and_face", "long_term"]) {
      await hand.tick(page, `[id="group.${group}.no"]`);
    }
    await hand.press(page, "#intake button.go");
    await page.waitForURL(/done=saved/);
    await open("clients/1/visits/new");
    await hand.files(page, "#photos", photos);
    await hand.press(page, "#begin-visit, main form button.go");
    await page.waitForURL(/\/visits\/\d+$/, { timeout: SLOW });
    await seen("shots");
    for (const left of [1, 0]) {
      await hand.press(page, "#shots button:not(.quiet)");
      await page.waitForFunction((n) => document.querySelectorAll("#shots .me-photo").length === n, left, { timeout: SLOW });
      await page.waitForLoadState("networkidle");
    }
    ensure((await page.locator("main").innerText()).includes("±"), "no value with its uncertainty");
    await seen("visit");
    await open("clients/1");
    await hand.press(page, "a[href^='/clients/1/map']");
    await page.waitForURL(/\/map/);
    await seen("map");
    await open("routines/new?client=1");
    await hand.tick(page, "#concern-tight_jaw");
    await hand.press(page, "button[value=draft]");
    await page.locator("button[value=take]").waitFor();
    await hand.press(page, "button[value=take]");
    await page.locator(".ed-step").first().waitFor();
    const before = await page.locator(".ed-step").count();
    // By hand: the fifth step of the work is taken out, and the way mended if that is needed.
    await page.evaluate(() => document.getElementById("name").focus());
    await hand.press(page, "#change-8 summary");
    await hand.press(page, "#step-8 button[value='drop.7']");
    await page.waitForFunction((n) => document.querySelectorAll(".ed-step").length === n, before - 1);
    for (let i = 0; i < 20 && (await page.locator(".ed-breaches button").count()) > 0; i += 1) {
      const was = await page.locator("#ed-verdict").innerHTML();
      await hand.press(page, ".ed-breaches button");
      await page.waitForFunction((w) => document.getElementById("ed-verdict").innerHTML !== w, was);
    }
    await page.evaluate(() => document.getElementById("main").focus());
    await hand.type(page, "#name", "Before sleep");
    await seen("editor");
    await hand.press(page, "button[value=save]");
    await page.waitForURL(/routines\/1\?done=saved/);
    await hand.press(page, "a[href='/routines/1/ready']");
    await page.waitForURL(/ready/);
    await seen("ready");
    const printed = page.evaluate(() => new Promise((resolve) => (globalThis.print = () => resolve("printed"))));
    await hand.press(page, "#print");
    ensure((await printed) === "printed", "nothing is printed");
    await page.evaluate(() => document.getElementById("main").focus());
    await page.keyboard.press("Home");
    await open("due");
    await seen("due");
    await hand.press(page, ".lock button");
    await page.waitForURL(/\/unlock/);
    await open("clients/1");
    await page.waitForURL(/\/unlock\?to=/);
    await seen("locked");
    await hand.type(page, "#passphrase", passphrase);
    await hand.press(page, "main form button.go");
    await page.waitForURL(/\/clients\/1$/);
    const text = await page.locator("main").innerText();
    ensure(text.includes("Ana Example") && text.includes("Before sleep"), "what was kept is not there after unlocking");
    await seen("client");
    calm();
  } finally {
    await close();
    await desk.stop();
    await rm(folder, { recursive: true, force: true });
  }
}

const widths = [
  { width: 1440, height: 900, scheme: "light", look: true },
  { width: 820, height: 1180, scheme: "light", look: true },
  { width: 360, height: 740, scheme: "dark", look: true },
];

export default [
  ...widths.map((size) => ({
    name: `new user: from the first run to a printed routine, locked and unlocked, at ${size.width}`,
    run: ({ browser }) => walk(browser, mouse, size),
  })),
  {
    name: "new user: the same by keyboard alone",
    run: ({ browser }) => walk(browser, keys, { width: 1440, height: 900, scheme: "light", look: false }),
  },
];
