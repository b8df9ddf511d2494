// The measurement: photographs of a visit, what they say with its uncertainty, advice where they cannot be used, forgetting.

import { execFile } from "node:child_process";
import { mkdtemp, readFile, rm, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import path from "node:path";
import { promisify } from "node:util";
import { binary, ensure, ensureAccessible, ensureNoSideways, shot, watchedPage } from "./house.mjs";

const SLOW = 60000;

/** Two photographs of nobody, one with the card, one lit from the side, and a file that is none. */
async function withFiles(use) {
  const folder = await mkdtemp(path.join(tmpdir(), "tragion-measure-"));
  const drawn = async (name, ...more) => {
    const file = path.join(folder, name);
    await promisify(execFile)(binary, ["phantom", file, "--seed", "8", "--tone", "light", ...more]);
    return file;
  };
  try {
    const one = await drawn("one.jpg", "--severity", "2");
    const two = await drawn("two.jpg", "--severity", "2", "--yaw", "3");
    const card = await drawn("card.jpg", "--severity", "2", "--card");
    const side = await drawn("side.jpg", "--light", "side");
    const words = path.join(folder, "words.jpg");
    await writeFile(words, "These are words and no photograph.");
    return await use({ one, two, card, side, words });
  } finally {
    await rm(folder, { recursive: true, force: true });
  }
}

async function ask(page, address) {
  await page.goto(`${address}measure`);
  // A picture that is still on its way when the page is left counts as a failed request.
  await page.locator(".people").scrollIntoViewIfNeeded();
  await page.waitForLoadState("networkidle", { timeout: SLOW });
}

async function bring(page, files) {
  await page.locator("#photos").setInputFiles(files);
  await page.getByRole("button", { name: "Measure", exact: true }).click({ timeout: SLOW });
}

async function shown(page) {
  await page.waitForURL(/\/measure\/\d+/, { timeout: SLOW });
  await page.waitForLoadState("networkidle", { timeout: SLOW });
}

/** Chooses one of the demo's people. */
async function person(page, address, n) {
  await ask(page, address);
  await page.getByRole("button", { name: new RegExp(`person ${n}`, "i") }).click({ timeout: SLOW });
  await shown(page);
}

const values = (page) => page.locator(".me-row dd").allInnerTexts();

const cases = [
  {
    name: "measure: from the rail to an invented person's values, each with its interval, and what leads",
    async run({ browser, address }) {
      const { page, calm, close } = await watchedPage(browser, address);
      await page.goto(address);
      await page.getByRole("navigation").getByRole("link", { name: "Measure" }).click();
      await page.locator(".people").scrollIntoViewIfNeeded();
      await page.waitForLoadState("networkidle", { timeout: SLOW });
      ensure(await page.getByText(/memory only/i).isVisible(), "it does not say where the photographs are kept");
      await person(page, address, 3);
      ensure(/invented/i.test(await page.locator("h1").innerText()), "it is not marked as invented");
      const all = await values(page);
      ensure(all.length === 14, `${all.length} values, not two sides of seven`);
      ensure(all.every((v) => /^−?\d+\.\d+ ± \d+\.\d+$/.test(v) || v === "cannot be told"), `a bare number: ${all.join(", ")}`);
      ensure((await page.locator("svg.me-bar").count()) === 7, "a value has no drawing");
      // Every drawing says in words what it shows.
      const told = await page.locator("svg.me-bar").evaluateAll((bars) => bars.every((b) => b.querySelector("title").textContent && /Own left .*Own|own right/.test(b.querySelector("desc").textContent)));
      ensure(told, "a drawing has no title and description");
      for (const words of [/Stretch the skin gently/, /Tilt a lamp/, /no diagnosis/, /How far to trust it/]) {
        ensure(await page.getByText(words).first().isVisible(), `it does not say ${words}`);
      }
      ensure((await page.locator(".me-over polygon").count()) === 2 * 2 * 10, "the areas are not drawn on both photographs");
      ensure((await page.locator(".me-gates").count()) === 0, "a good photograph is scolded");
      await page.locator(".me-passed summary").first().click();
      ensure((await page.locator(".me-passed").first().locator("li").count()) >= 12, "the conditions are not listed");
      calm();
      await close();
    },
  },
  {
    name: "measure: two photographs brought by hand, the class changed, a correction followed, all forgotten",
    run: ({ browser, address }) => withFiles(async ({ one, two, words }) => {
      const { page, calm, close } = await watchedPage(browser, address);
      await ask(page, address);
      await page.locator("#tone-brown").check();
      await bring(page, words);
      const alert = page.getByRole("alert");
      await alert.waitFor({ timeout: SLOW });
      ensure(/JPEG/.test(await alert.innerText()), `the refusal says: ${await alert.innerText()}`);
      ensure(await page.locator("#tone-brown").isChecked(), "the class that was chosen is lost");
      await page.waitForLoadState("networkidle", { timeout: SLOW });
      await page.locator("#tone-light").check();
      const bytes = await Promise.all([one, two].map(async (f) => (await readFile(f)).toString("base64")));
      const dropped = await page.evaluateHandle((all) => {
        const data = new DataTransfer();
        for (const [i, base64] of all.entries()) {
          data.items.add(new File([Uint8Array.from(atob(base64), (c) => c.charCodeAt(0))], `dropped${i}.jpg`, { type: "image/jpeg" }));
        }
        return data;
      }, bytes);
      for (const kind of ["dragenter", "dragover", "drop"]) await page.dispatchEvent("#measure-drop", kind, { dataTransfer: dropped });
      ensure(/2 photographs/.test(await page.locator("#chosen").innerText()), "it does not say how many are chosen");
      await page.getByRole("button", { name: "Measure", exact: true }).click({ timeout: SLOW });
      await shown(page);
      ensure(/2 of 2/.test(await page.locator(".lead").innerText()), "not both are measured");
      const before = await values(page);
      const where = page.url();
      await page.locator(".me-class summary").click();
      await page.locator("#tone-dark").check();
      await page.getByRole("button", { name: /measure anew/i }).click();
      await page.waitForLoadState("networkidle", { timeout: SLOW });
      ensure((await values(page)).join() !== before.join(), "another class changes nothing");

      await page.getByRole("link", { name: /set the landmarks right/i }).first().click();
      await page.waitForURL(/\/map\/\d+\?correct=1/);
      await page.waitForLoadState("networkidle", { timeout: SLOW });
      const dark = await page.goto(where).then(() => values(page));
      await page.getByRole("link", { name: /set the landmarks right/i }).first().click();
      const handle = page.locator('.sk-handle[data-handle="lower_lid_left"]');
      await handle.waitFor();
      await page.waitForLoadState("networkidle", { timeout: SLOW });
      await handle.focus();
      for (let i = 0; i < 3; i += 1) await page.keyboard.press("Shift+ArrowDown");
      await page.locator("#moved", { hasText: /one thing is set by hand/i }).waitFor({ timeout: SLOW });
      await page.waitForLoadState("networkidle", { timeout: SLOW });
      await page.goto(where);
      ensure((await values(page)).join() !== dark.join(), "the correction is not followed");

      const picture = new URL(await page.locator(".me-over image").first().getAttribute("href"), address).href;
      await page.waitForLoadState("networkidle", { timeout: SLOW });
      await page.getByRole("button", { name: /forget/i }).click();
      await page.getByText(/are forgotten\./).waitFor();
      ensure((await page.request.get(picture)).status() === 404, "a picture is still there");
      await page.waitForLoadState("networkidle", { timeout: SLOW });
      await page.goto(where);
      ensure(await page.getByText(/no longer kept/i).isVisible(), "the old address does not say that it is gone");
      await page.waitForLoadState("networkidle", { timeout: SLOW });
      calm();
      await close();
    }),
  },
  {
    name: "measure: without script, with the card, and one lit from the side among them",
    run: ({ browser, address }) => withFiles(async ({ card, side }) => {
      const { page, calm, close } = await watchedPage(browser, address, { javaScriptEnabled: false });
      await ask(page, address);
      await bring(page, [card, side]);
      await shown(page);
      ensure(await page.getByText(/With a card: its patches/).isVisible(), "the card is not found");
      ensure((await page.locator("#photo-1 polygon").count()) === 2 * (18 + 10), "the patches are not drawn");
      ensure(/1 of 2/.test(await page.locator(".lead").innerText()) || /one photograph/i.test(await page.locator(".lead").innerText()), "the lead does not say how many");
      const advice = page.locator("#photo-2 .me-gates");
      ensure(/Light from one side/.test(await advice.innerText()) && /both cheeks are equally bright/.test(await advice.innerText()), `it advises: ${await advice.innerText()}`);
      ensure(await page.getByText(/could not be used; the others/).isVisible(), "it does not say that one is left out");
      await page.locator(".me-more summary").click();
      ensure(await page.getByRole("row", { name: /white of the eye, redness/i }).isVisible(), "the white of the eye is missing");
      await shot(page, "measure-without-script");
      calm();
      await close();
    }),
  },
];

for (const scheme of ["light", "dark"]) {
  cases.push({
    name: `measure, ${scheme === "dark" ? "night" : "light"}: axe-core finds nothing and nothing scrolls sideways at any width`,
    run: ({ browser, address }) => withFiles(async ({ one, side }) => {
      for (const [width, height] of [[1440, 900], [820, 1180], [360, 740], [320, 640]]) {
        const { page, calm, close } = await watchedPage(browser, address, { viewport: { width, height }, colorScheme: scheme });
        const seen = async (what) => {
          await ensureNoSideways(page, `${what} at ${width} px`);
          await shot(page, `${what}-${width}-${scheme}`);
          await ensureAccessible(page, `${what} at ${width} px`);
        };
        await ask(page, address);
        await page.locator(".conventions summary").click();
        await seen("measure-ask");
        await bring(page, [one, side]);
        await shown(page);
        await page.evaluate(() => document.querySelectorAll("details").forEach((d) => { d.open = true; }));
        await seen("measure-shown");
        // At the width of a phone; at 320 the page is what 400 % of zoom makes of a desk.
        if (width === 360) {
          await page.evaluate(() => document.documentElement.style.setProperty("font-size", "200%"));
          const wide = await page.evaluate(() => [...document.querySelectorAll("body *:not(svg *)")].filter((e) => e.getBoundingClientRect().right > innerWidth + 1).map((e) => `${e.tagName}.${e.className}#${e.id} ${Math.round(e.getBoundingClientRect().left)}-${Math.round(e.getBoundingClientRect().right)} of ${innerWidth}`).slice(0, 6));
          ensure(wide.length === 0, `with large text these are cut off: ${wide.join(", ")}`);
          await ensureNoSideways(page, "the values with large text");
          await page.evaluate(() => document.documentElement.style.removeProperty("font-size"));
        }
        const small = await page.locator("label.choice:visible, button:visible, summary:visible, .button:visible, .rail a").evaluateAll((all) =>
          all.map((e) => ({ what: e.innerText.slice(0, 20), height: e.getBoundingClientRect().height })).filter((e) => e.height < 43.5));
        ensure(small.length === 0, `too low: ${small.slice(0, 5).map((s) => `${s.what} ${s.height}`).join(", ")}`);
        calm();
        await close();
      }
    }),
  });
}

export default cases;
