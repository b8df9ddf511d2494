// The map: whose face, where its points lie, corrections by hand, a routine on it, paper, and forgetting.

import { execFile } from "node:child_process";
import { mkdtemp, readFile, rm, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import path from "node:path";
import { promisify } from "node:util";
import { binary, ensure, ensureAccessible, ensureNoSideways, shot, watchedPage } from "./house.mjs";
import { makeRoutine } from "./steps.mjs";

const SLOW = 60000;

/** Chooses one of the demo's people. */
async function person(page, address, n = 1) {
  await page.goto(`${address}map`);
  // A picture that is still on its way when the page is left counts as a failed request.
  await page.waitForLoadState("networkidle", { timeout: SLOW });
  await page.getByRole("button", { name: new RegExp(`person ${n}`, "i") }).click({ timeout: SLOW });
  await page.waitForURL(/\/map\/\d+/, { timeout: SLOW });
  await page.locator("#face image").waitFor({ timeout: SLOW });
  await page.waitForLoadState("networkidle", { timeout: SLOW });
}

/** A photograph of nobody, as a file, and a file that is none. */
async function withFiles(use) {
  const folder = await mkdtemp(path.join(tmpdir(), "tragion-map-"));
  try {
    const photo = path.join(folder, "nobody.jpg");
    await promisify(execFile)(binary, ["phantom", photo, "--seed", "5", "--plain"]);
    const words = path.join(folder, "words.jpg");
    await writeFile(words, "These are words and no photograph.");
    return await use({ photo, words });
  } finally {
    await rm(folder, { recursive: true, force: true });
  }
}

async function bring(page, file) {
  await page.waitForLoadState("networkidle", { timeout: SLOW });
  await page.locator("#photo").setInputFiles(file);
  await page.getByRole("button", { name: /make the map/i }).click({ timeout: SLOW });
}

const firstLink = (page) => page.locator("#on-face a[data-pick]").first();
const numbers = (page) => page.locator(".place-row.chosen .mm:not([hidden])").innerText();
const px = (handle) => handle.evaluate((g) => {
  const m = g.transform.baseVal.consolidate().matrix;
  return [m.e, m.f];
});

/** After the script has sent a correction and put the answer in place. */
function corrected(page, act) {
  return Promise.all([page.waitForResponse((r) => /\/(hands|undo)/.test(r.url()), { timeout: SLOW }), act()])
    .then(() => page.waitForFunction(() => !document.querySelector("#map").hasAttribute("aria-busy")));
}

const cases = [
  {
    name: "map: from the rail to an invented person's map, marked as invented",
    async run({ browser, address }) {
      const { page, calm, close } = await watchedPage(browser, address);
      await page.goto(address);
      await page.getByRole("navigation").getByRole("link", { name: "Map" }).click();
      await page.locator(".people img").last().scrollIntoViewIfNeeded();
      await page.waitForFunction(() => [...document.querySelectorAll(".people img")].every((i) => i.complete && i.naturalWidth > 0), null, { timeout: SLOW });
      ensure((await page.locator(".people button").count()) === 6, "there are not six people");
      ensure(await page.getByText(/memory only/i).isVisible(), "it does not say where the photograph is kept");
      await person(page, address);
      ensure(/invented/i.test(await page.locator("h1").innerText()), "the map is not marked as invented");
      const points = await page.locator("#on-face .place-row").count();
      ensure(points >= 20, `only ${points} points on the face`);
      const sure = await page.locator("#on-face .sure").allInnerTexts();
      ensure(sure.length >= points && sure.every((s) => /within \d+ mm/.test(s)), "a point does not say how sure it is");
      ensure(await page.getByText(/hairline is an estimate/i).isVisible(), "the hairline is not said to be an estimate");
      ensure((await page.locator("#by-touch .place-row").count()) > 5 && (await page.locator("#never dt").count()) > 0, "points apart are missing");
      calm();
      await close();
    },
  },
  {
    name: "map: a point picked in the list or on the face lights up in both",
    async run({ browser, address }) {
      const { page, calm, close } = await watchedPage(browser, address);
      await person(page, address);
      await firstLink(page).click();
      const code = await firstLink(page).getAttribute("data-pick");
      const side = await firstLink(page).getAttribute("data-side");
      await page.locator(`.sk-place.sk-chosen[data-target="${code}"][data-side="${side}"]`).waitFor();
      ensure((await page.locator(".sk-place.sk-chosen").count()) === 1, "more than one place is chosen");
      ensure(/\d+ mm/.test(await numbers(page)), "there are no millimetres");
      ensure(page.url().includes(`point=${code}`), "the address does not name the point");
      const other = page.locator('.sk-place[data-target="LI20"][data-side="left"] .sk-reach').first();
      const box = await other.boundingBox();
      await page.mouse.click(box.x + box.width / 2, box.y + box.height / 2);
      await page.locator('.place-row.chosen[data-place="LI20"]').waitFor();
      ensure(/on your left/.test(await numbers(page)), "the left wing lies on the right");
      ensure((await page.locator('.sk-place[data-shown="sketch"]').count()) === 0, "the photograph shows what it cannot show");
      await page.reload();
      ensure(await page.locator('.place-row.chosen[data-place="LI20"]').isVisible(), "the address does not bring it back");
      for (const kind of ["zones", "lines"]) {
        await page.locator(`#kind-${kind}`).check();
        await page.locator(`.sk-place.sk-${kind.slice(0, -1)}`).first().waitFor({ state: "attached" });
      }
      await page.getByRole("link", { name: "Drawing", exact: true }).click();
      await page.locator(".sk-map").waitFor();
      await shot(page, "map-drawing-all");
      await page.locator("#by-touch summary").click();
      await page.locator("#by-touch a[data-pick]").first().click();
      await page.locator('.sk-map .sk-place.sk-chosen[data-shown="sketch"]').first().waitFor();
      calm();
      await close();
    },
  },
  {
    name: "map: a photograph brought, a text refused in words, and the photograph forgotten",
    run: ({ browser, address }) => withFiles(async ({ photo, words }) => {
      const { page, calm, close } = await watchedPage(browser, address);
      await page.goto(`${address}map`);
      await bring(page, words);
      const alert = page.getByRole("alert");
      await alert.waitFor({ timeout: SLOW });
      ensure(/JPEG/.test(await alert.innerText()), `the refusal says: ${await alert.innerText()}`);
      const bytes = (await readFile(photo)).toString("base64");
      const dropped = await page.evaluateHandle((base64) => {
        const data = new DataTransfer();
        data.items.add(new File([Uint8Array.from(atob(base64), (c) => c.charCodeAt(0))], "dropped.jpg", { type: "image/jpeg" }));
        return data;
      }, bytes);
      for (const kind of ["dragenter", "dragover", "drop"]) await page.dispatchEvent("#drop", kind, { dataTransfer: dropped });
      ensure((await page.locator("#photo").evaluate((i) => i.files[0]?.name)) === "dropped.jpg", "what was dropped is not taken");
      await page.waitForLoadState("networkidle", { timeout: SLOW });
      await page.getByRole("button", { name: /make the map/i }).click({ timeout: SLOW });
      await page.waitForURL(/\/map\/\d+/, { timeout: SLOW });
      ensure((await page.locator("#on-face .place-row").count()) >= 20, "the photograph gave no points");
      const where = page.url();
      const answer = await page.request.get(`${where}/photo.jpg`);
      ensure(answer.headers()["cache-control"] === "no-store", "the picture may be stored");
      await page.getByRole("button", { name: /forget/i }).click();
      await page.getByText(/is forgotten\./).waitFor();
      ensure((await page.request.get(`${where}/photo.jpg`)).status() === 404, "the picture is still there");
      await page.waitForLoadState("networkidle", { timeout: SLOW });
      await page.goto(where);
      ensure(await page.getByText(/no longer kept/i).isVisible(), "the old address does not say that it is gone");
      calm();
      await close();
    }),
  },
  {
    name: "map: without script a photograph can be brought and a point be picked",
    run: ({ browser, address }) => withFiles(async ({ photo }) => {
      const { page, calm, close } = await watchedPage(browser, address, { javaScriptEnabled: false });
      await page.goto(`${address}map`);
      await page.locator("#mirrored").check();
      await bring(page, photo);
      await page.waitForURL(/\/map\/\d+/, { timeout: SLOW });
      await firstLink(page).click();
      await page.waitForURL(/point=/);
      ensure((await page.locator(".sk-place.sk-chosen").count()) === 1, "the point is not chosen on the face");
      ensure(/\d+ mm/.test(await numbers(page)), "there are no millimetres");
      await page.locator("#kind-zones").check();
      await page.locator(".kinds button").click();
      await page.waitForURL(/kind=zones/);
      ensure((await page.locator(".sk-place.sk-zone").count()) > 5, "the zones are not shown");
      await shot(page, "map-without-script");
      await page.getByRole("button", { name: /forget/i }).click();
      await page.getByText(/is forgotten\./).waitFor();
      calm();
      await close();
    }),
  },
  {
    name: "map: a handle dragged by mouse and moved by keys, the numbers follow, all undone",
    async run({ browser, address }) {
      const { page, calm, close } = await watchedPage(browser, address);
      await person(page, address, 2);
      await page.locator('#on-face a[data-pick="LI20"][data-side="left"]').click();
      await page.locator(".sk-place.sk-chosen").waitFor();
      const first = await numbers(page);
      await page.getByRole("link", { name: /correct by hand/i }).click();
      ensure((await page.locator(".sk-handle").count()) === 32, "there are not 27 and 5 handles");
      const low = await page.locator(".sk-handle .sk-reach").evaluateAll((all) => all.map((e) => getComputedStyle(e).strokeWidth));
      ensure(low.every((w) => parseFloat(w) >= 44), `targets of ${low[0]}`);
      const handle = page.locator('.sk-handle[data-handle="wing_left"]');
      const before = await px(handle);
      const box = await handle.locator(".sk-grip").boundingBox();
      const [x, y] = [box.x + box.width / 2, box.y + box.height / 2];
      await page.mouse.move(x, y);
      await page.mouse.down();
      await page.mouse.move(x + 15, y + 10, { steps: 5 });
      await page.mouse.move(x + 30, y + 20, { steps: 5 });
      await corrected(page, () => page.mouse.up());
      const dragged = await numbers(page);
      ensure(dragged !== first, `after the drag it still says: ${dragged}`);
      const scale = await page.locator("#face svg").evaluate((s) => s.getScreenCTM().a);
      const after = await px(handle);
      ensure(Math.abs(after[0] - before[0] - 30 / scale) < 1.5, `the handle went ${after[0] - before[0]} px, not ${30 / scale}`);
      ensure(/one thing/i.test(await page.locator("#moved").innerText()), "it does not count the correction");
      await shot(page, "map-handles");

      ensure((await page.evaluate(() => document.activeElement.dataset.handle)) === "wing_left", "the focus left the handle");
      await page.keyboard.press("ArrowRight");
      await corrected(page, () => page.keyboard.press("Shift+ArrowDown"));
      const keyed = await px(handle);
      ensure(Math.abs(keyed[0] - after[0] - 1) < 0.1 && Math.abs(keyed[1] - after[1] - 10) < 0.1, `by keys it went ${keyed[0] - after[0]}, ${keyed[1] - after[1]}`);
      ensure((await numbers(page)) !== dragged, "the keys changed nothing");

      // Where reaches overlap the nearest is taken: the pupil lies beneath the reach of the lower lid.
      const eye = await page.locator('.sk-handle[data-handle="pupil_right"]').evaluate((g) => {
        const at = new DOMPoint(0, 0).matrixTransform(g.getScreenCTM());
        return [at.x, at.y];
      });
      await page.mouse.move(...eye);
      await page.mouse.down();
      await page.mouse.move(eye[0] + 3, eye[1]);
      await corrected(page, () => page.mouse.up());
      ensure((await page.evaluate(() => document.activeElement.dataset.handle)) === "pupil_right", "another handle was taken");

      const line = page.locator('.sk-handle[data-handle="hairline_2"]');
      await line.focus();
      await corrected(page, () => page.keyboard.press("Shift+ArrowUp"));
      ensure(await page.getByText(/hairline is where you set it/i).isVisible(), "the hairline is not said to be set by hand");

      await page.getByRole("button", { name: /undo all/i }).click();
      await page.getByText(/nothing is set by hand/i).waitFor({ timeout: SLOW });
      ensure((await numbers(page)) === first, "undone, the numbers are not as they were");
      calm();
      await close();
    },
  },
  {
    name: "map: by touch a handle follows the finger, and with large text nothing is cut off",
    async run({ browser, address }) {
      const { page, calm, close } = await watchedPage(browser, address, { viewport: { width: 720, height: 1100 }, hasTouch: true });
      await person(page, address, 3);
      await page.goto(`${page.url()}?correct=1`);
      const handle = page.locator('.sk-handle[data-handle="chin"]');
      await handle.evaluate((g) => g.scrollIntoView({ block: "center" }));
      const before = await px(handle);
      const [x, y, scale] = await handle.evaluate((g) => {
        const m = g.getScreenCTM();
        return [m.e, m.f, m.a];
      });
      const finger = await page.context().newCDPSession(page);
      const touch = (type, at) => finger.send("Input.dispatchTouchEvent", { type, touchPoints: at ? [{ x: at[0], y: at[1] }] : [] });
      await touch("touchStart", [x, y]);
      for (let i = 1; i <= 5; i += 1) await touch("touchMove", [x, y + 4 * i]);
      await corrected(page, () => touch("touchEnd"));
      const after = await px(handle);
      ensure(Math.abs(after[1] - before[1] - 20 / scale) < 2, `the finger went 20 px, the handle ${(after[1] - before[1]) * scale}`);
      await page.locator("#undo button").click();
      await page.getByText(/nothing is set by hand/i).waitFor({ timeout: SLOW });
      await page.evaluate(() => document.documentElement.style.setProperty("font-size", "200%"));
      await ensureNoSideways(page, "the map with large text");
      calm();
      await close();
    },
  },
  {
    name: "map: by keyboard alone a handle is reached and moved",
    async run({ browser, address }) {
      const { page, calm, close } = await watchedPage(browser, address);
      await person(page, address, 3);
      await page.goto(`${page.url()}?correct=1`);
      let reached = false;
      for (let i = 0; i < 60 && !reached; i += 1) {
        await page.keyboard.press("Tab");
        reached = await page.evaluate(() => document.activeElement.dataset?.handle === "pupil_left");
      }
      ensure(reached, "Tab never reaches the left pupil");
      const handle = page.locator('.sk-handle[data-handle="pupil_left"]');
      ensure(parseFloat(await handle.locator(".sk-grip").evaluate((e) => getComputedStyle(e).strokeWidth)) >= 5, "its focus is not to be seen");
      const before = await px(handle);
      await corrected(page, () => page.keyboard.press("ArrowLeft"));
      ensure(Math.abs((await px(handle))[0] - before[0] + 1) < 0.1, "it did not move by one pixel");
      // Going on to the next at once loses nothing.
      await corrected(page, async () => {
        await page.keyboard.press("ArrowLeft");
        await page.keyboard.press("Tab");
      });
      ensure(Math.abs((await px(handle))[0] - before[0] + 2) < 0.1, "a press was lost on the way to the next handle");
      calm();
      await close();
    },
  },
  {
    name: "map: a routine is seen on a face, and what the photograph does not show is said",
    async run({ browser, address }) {
      const { page, calm, close } = await watchedPage(browser, address);
      await makeRoutine(page, address);
      const steps = await page.locator("#run-steps > li").count();
      await page.getByRole("button", { name: /see it on a face/i }).click();
      await page.waitForURL(/\/map\?routine=/);
      ensure(await page.getByText(/tight jaw, 8 minutes/i).isVisible(), "it does not say which routine waits");
      await page.waitForLoadState("networkidle", { timeout: SLOW });
      await page.getByRole("button", { name: /person 1/i }).click({ timeout: SLOW });
      await page.waitForURL(/\/map\/\d+\?routine=/, { timeout: SLOW });
      ensure((await page.locator("li.step").count()) === steps, "not every step is in the list");
      ensure((await page.locator("#face .sk-step").count()) > 0, "no step is on the photograph");
      const marked = await page.getByText("Not on the photograph; on the drawing.").count();
      ensure(marked > 0, "the neck's steps are not said to be missing");
      ensure((await page.getByText(/everything here is featherlight/i).count()) > 0, "it does not say that all stays featherlight");
      ensure(await page.getByRole("heading", { name: /warning sign/i }).isVisible(), "the warning signs are missing");
      ensure(/tight jaw/i.test(await page.locator("h1").innerText()) && (await page.getByText(/invented face/i).count()) > 0, "it does not say what is on whom");
      await shot(page, "map-routine");
      await page.getByRole("link", { name: "Drawing", exact: true }).click();
      await page.locator("#face .sk-sheet").waitFor();
      const drawn = await page.locator("#face .sk-step").evaluateAll((all) => new Set(all.flatMap((e) => e.dataset.step.split(" "))).size);
      ensure(drawn === steps, `${drawn} of ${steps} steps are on the drawing`);
      await shot(page, "map-routine-drawing");
      await page.getByRole("link", { name: "Print", exact: true }).click();
      await page.locator(".sk-print .sk-step").first().waitFor({ state: "attached" });
      calm();
      await close();
    },
  },
  {
    name: "map: on paper at true scale the bar is 100 mm long",
    async run({ browser, address }) {
      const { page, calm, close } = await watchedPage(browser, address, { viewport: { width: 1000, height: 1200 } });
      await person(page, address);
      await page.getByRole("link", { name: "Print", exact: true }).click();
      const bar = page.locator(".sk-bar");
      await bar.waitFor({ state: "attached" });
      const mm = () => bar.evaluate((e) => e.getBoundingClientRect().width / 96 * 25.4);
      const onScreen = await mm();
      ensure(Math.abs(onScreen - 100) <= 0.2, `the bar measures ${onScreen.toFixed(2)} mm`);
      await page.emulateMedia({ media: "print" });
      const printed = await mm();
      ensure(Math.abs(printed - 100) <= 0.2, `on paper the bar measures ${printed.toFixed(2)} mm`);
      for (const part of [".top", ".foot", ".paper-head"]) ensure(!(await page.locator(part).isVisible()), `${part} is printed`);
      for (const format of ["A4", "Letter"]) {
        const pdf = (await page.pdf({ format, preferCSSPageSize: false })).toString("latin1");
        const pages = (pdf.match(/\/Type\s*\/Page\b/g) ?? []).length;
        ensure(pages === 1, `on ${format} it takes ${pages} pages`);
      }
      await shot(page, "map-paper");
      await page.emulateMedia({ media: "screen" });
      await page.getByRole("link", { name: /to fit/i }).click();
      await page.locator(".sk-print:not(.sk-true)").waitFor();
      calm();
      await close();
    },
  },
  {
    name: "map: the drawn face needs no photograph",
    async run({ browser, address }) {
      const { page, calm, close } = await watchedPage(browser, address);
      await page.goto(`${address}map`);
      await page.waitForLoadState("networkidle", { timeout: SLOW });
      await page.getByRole("link", { name: /drawn face/i }).click();
      await page.locator(".sk-map").waitFor();
      await page.locator("#on-face a[data-pick]").first().click();
      await page.locator(".sk-place.sk-chosen").first().waitFor();
      ensure((await page.locator(".place-row.chosen .mm").count()) === 0, "the drawn face has millimetres");
      await shot(page, "map-drawn");
      await ensureAccessible(page, "the drawn face");
      calm();
      await close();
    },
  },
  {
    name: "map: the desk answers while a face is looked for, and a stranger's form is refused",
    async run({ browser, address }) {
      const context = await browser.newContext();
      // The page gives the cookie and, with it, the token that its own forms carry.
      const page = await (await context.request.get(`${address}map`)).text();
      const token = page.match(/name="token" content="([0-9a-f]+)"/)[1];
      const form = (headers) =>
        context.request.post(`${address}map/choose`, { headers, form: { token, person: "4" }, maxRedirects: 0, timeout: SLOW });
      ensure((await form({ origin: "http://evil.example" })).status() === 403, "a form from elsewhere is taken");
      const origin = new URL(address).origin;
      const long = form({ origin });
      const begun = Date.now();
      ensure((await context.request.get(`${address}assets/mark.svg`)).ok(), "no answer meanwhile");
      const took = Date.now() - begun;
      ensure(took < 500, `it took ${took} ms meanwhile`);
      ensure((await long).status() === 303, "the face was not found");
      await context.close();
    },
  },
];

for (const scheme of ["light", "dark"]) {
  cases.push({
    name: `map, ${scheme === "dark" ? "night" : "light"}: axe-core finds nothing and nothing scrolls sideways at any width`,
    async run({ browser, address }) {
      for (const [width, height] of [[1440, 900], [820, 1180], [360, 740], [320, 640]]) {
        const { page, calm, close } = await watchedPage(browser, address, { viewport: { width, height }, colorScheme: scheme });
        await page.goto(`${address}map`);
        await page.locator(".people").scrollIntoViewIfNeeded();
        await page.waitForLoadState("networkidle");
        const seen = async (what) => {
          await ensureNoSideways(page, `${what} at ${width} px`);
          await shot(page, `${what}-${width}-${scheme}`);
          await ensureAccessible(page, `${what} at ${width} px`);
        };
        await seen("map-whose");
        await person(page, address);
        const face = page.url();
        await page.goto(`${face}?point=LI20&side=left`);
        if (width === 360) {
          const order = await page.evaluate(() => [...document.querySelectorAll("#face svg, #list")].map((e) => e.getBoundingClientRect().top));
          ensure(order[0] < order[1], "the picture does not come first");
        }
        await seen("map-face");
        await page.goto(`${face}?correct=1`);
        await seen("map-correct");
        await page.goto(`${face}/print`);
        await seen("map-print");
        const small = await page.goto(face).then(() => page.locator("label.choice:visible, button:visible, summary:visible, .button:visible, .rail a, .views a, .place-sides a:visible").evaluateAll((all) =>
          all.map((e) => ({ what: e.innerText.slice(0, 20), height: e.getBoundingClientRect().height })).filter((e) => e.height < 43.5)));
        ensure(small.length === 0, `too low: ${small.slice(0, 5).map((s) => `${s.what} ${s.height}`).join(", ")}`);
        calm();
        await close();
      }
    },
  });
}

export default cases;
