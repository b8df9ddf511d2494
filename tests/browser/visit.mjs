// A visit behind the practice's door: files, a folder, keep and retake by keyboard alone, the camera with its live checks, a client's map.
// Chromium's own fake camera plays a picture of nobody.

import { execFile } from "node:child_process";
import { mkdtemp, mkdir, readFile, rm, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import path from "node:path";
import { promisify } from "node:util";
import { binary, ensure, ensureAccessible, ensureNoSideways, shot, startBrowser, startDesk, watchedPage } from "./house.mjs";

const SLOW = 90000;
const run = promisify(execFile);

/** A practice with a client who agreed to care and photographs, and pictures of nobody, the camera's film among them. */
async function withHouse(use, options = {}) {
  const folder = await mkdtemp(path.join(tmpdir(), "tragion-visit-"));
  const album = path.join(folder, "album");
  await mkdir(path.join(album, "inner"), { recursive: true });
  const [one, two] = [path.join(album, "one.jpg"), path.join(album, "inner", "two.jpg")];
  await run(binary, ["phantom", "--seed", "11", "--plain", one]);
  await run(binary, ["phantom", "--seed", "11", "--plain", "--yaw", "2", two]);
  await writeFile(path.join(album, "list.txt"), "no picture");
  // A film of JPEG pictures is nothing but the pictures, one after the other.
  const film = path.join(folder, "film.mjpeg");
  const picture = await readFile(one);
  await writeFile(film, Buffer.concat(Array(4).fill(picture)));
  const desk = await startDesk(["--today", "2026-03-01"], { unlocked: true });
  const camera = ["--use-fake-device-for-media-stream", "--use-fake-ui-for-media-stream", `--use-file-for-fake-video-capture=${film}`];
  const house = await startBrowser(options.camera === false ? [] : camera);
  const watched = await watchedPage(house.browser, desk.address, options.page ?? {});
  watched.page.context().setDefaultTimeout(30000);
  try {
    const { page } = watched;
    await page.goto(desk.printed, { waitUntil: "networkidle" });
    await page.goto(`${desk.address}clients/new`, { waitUntil: "networkidle" });
    await page.locator("input[name=name]").fill("Ana Example");
    await page.locator("main form button[type=submit]").first().click();
    await page.waitForURL(/\/clients\/\d+/);
    const at = page.url().split(/[?#]/)[0];
    for (const kind of ["care", "photographs"]) {
      await page.waitForLoadState("networkidle");
      await page.goto(at);
      const shut = page.locator("#consents details:not([open]) summary");
      if (await shut.count()) await shut.click();
      await page.locator(`form.consent:has(input[value=${kind}]) button`).click();
      await page.waitForURL(/done=saved/);
    }
    await page.waitForLoadState("networkidle");
    return await use({ ...watched, at, one, two, album, desk });
  } finally {
    await house.stop();
    await desk.stop();
    await rm(folder, { recursive: true, force: true });
  }
}

async function lookAt(page, name) {
  for (const width of [1440, 820, 360]) {
    await page.setViewportSize({ width, height: width === 360 ? 740 : 900 });
    await page.waitForTimeout(200);
    await ensureNoSideways(page, `${name} at ${width}`);
    await ensureAccessible(page, `${name} at ${width}`);
    // A map's whole list is longer than a picture should be.
    await shot(page, `visit-${name}-${width}`, !["map", "print"].includes(name));
  }
  await page.setViewportSize({ width: 1440, height: 900 });
}

const cases = [
  {
    name: "visit: a folder is brought, one is kept and one dropped by keyboard alone, and the client's map is theirs",
    run: () =>
      withHouse(async ({ page, at, album, calm }) => {
        await page.goto(`${at}/visits/new`);
        await lookAt(page, "new");
        await page.locator("#folder").setInputFiles(album);
        await page.locator("#slept").fill("well");
        await page.getByRole("button", { name: "Begin the visit" }).focus();
        await page.keyboard.press("Enter");
        await page.waitForURL(/\/visits\/\d+$/, { timeout: SLOW });
        const said = await page.locator("main").innerText();
        ensure(said.includes("list.txt"), "the file that is no picture is not said by name");
        ensure((await page.locator("#shots .me-photo").count()) === 2, "not both pictures of the folder are shots");
        await lookAt(page, "shots");
        await page.locator("#shots button.go").focus();
        await page.keyboard.press("Enter");
        await page.waitForURL(/done=saved/, { timeout: SLOW });
        await page.getByRole("button", { name: /^Drop, and take it again/ }).focus();
        await page.keyboard.press("Enter");
        await page.waitForURL(/#more/, { timeout: SLOW });
        ensure((await page.locator("#shots").count()) === 0, "a dropped shot is still there");
        ensure((await page.locator(".me-row dd").count()) >= 8, "the visit shows no values");
        await page.evaluate(() => scrollTo(0, 0));
        await lookAt(page, "visit");
        await page.goto(at);
        ensure((await page.locator("#visits").innerText()).includes("CIEDE2000"), "the client's page says no value");
        await page.locator(".visit-small img").first().scrollIntoViewIfNeeded();
        await page.waitForLoadState("networkidle");
        await lookAt(page, "client");
        await page.goto(`${at}/map`);
        await lookAt(page, "map");
        await page.locator("[data-pick]").first().focus();
        await page.keyboard.press("Enter");
        await page.waitForSelector(".place-row.chosen .mm:not([hidden])");
        await page.goto(`${page.url().split("?")[0]}/print`);
        await lookAt(page, "print");
        calm();
      }),
  },
  {
    name: "visit: the camera says what is right and wrong while framing, and the space bar takes an unmirrored picture",
    run: () =>
      withHouse(async ({ page, at, requests, calm }) => {
        await page.goto(`${at}/visits/new`);
        await page.getByRole("button", { name: "Use the camera" }).click();
        await page.waitForSelector("#camera-gates li", { timeout: SLOW });
        const gates = await page.locator("#camera-gates").innerText();
        for (const word of ["Distance", "turn"]) ensure(gates.toLowerCase().includes(word.toLowerCase()), `the checks do not say ${word}: ${gates}`);
        ensure((await page.locator("#camera-ready").innerText()).length > 10, "nothing is said while framing");
        await lookAt(page, "camera");
        const flipped = await page.locator("#camera-video").evaluate((v) => getComputedStyle(v).transform);
        ensure(flipped.startsWith("matrix(-1"), `the preview is no mirror: ${flipped}`);
        await page.locator("#shutter").focus();
        await page.keyboard.press("Space");
        await page.waitForURL(/\/visits\/\d+$/, { timeout: SLOW });
        ensure((await page.locator("#shots .me-photo").count()) === 1, "the camera's picture is no shot");
        const size = await page.locator("#shots image").first().evaluate((i) => [i.getAttribute("width"), i.getAttribute("height")]);
        ensure(Number(size[0]) >= 640, `the picture is not the camera's own: ${size}`);
        ensure(requests.some((r) => r.url.includes("/visits/frame")), "no frame was looked at");
        await shot(page, "visit-camera-shot");
        calm();
      }),
  },
  {
    name: "visit: without a camera it says so, and without script photographs are brought all the same",
    run: async () => {
      await withHouse(async ({ page, at, calm }) => {
        await page.goto(`${at}/visits/new`);
        await page.getByRole("button", { name: "Use the camera" }).click();
        await page.waitForFunction(() => document.getElementById("camera-said").textContent.length > 10);
        calm();
      }, { camera: false });
      await withHouse(async ({ page, at, one }) => {
        await page.goto(`${at}/visits/new`);
        ensure(!(await page.getByRole("button", { name: "Use the camera" }).isVisible()), "a camera is offered without script");
        await page.locator("#photos").setInputFiles(one);
        await page.getByRole("button", { name: "Begin the visit" }).click();
        await page.waitForURL(/\/visits\/\d+$/, { timeout: SLOW });
        await page.getByRole("button", { name: /^Keep/ }).click();
        await page.waitForURL(/done=saved/, { timeout: SLOW });
      }, { camera: false, page: { javaScriptEnabled: false } });
    },
  },
];

export default cases;
