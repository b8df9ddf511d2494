// The live face: a film of invented people as the browser's camera, each frame known by the blocks in its corner, and what is drawn held
// against the truth of the very frame it was drawn for.

import { execFile } from "node:child_process";
import { mkdtemp, readFile, rm, writeFile } from "node:fs/promises";
import { loadavg, tmpdir } from "node:os";
import path from "node:path";
import { promisify } from "node:util";
import { binary, ensure, ensureAccessible, ensureNoSideways, shot, startBrowser, startDesk, watchedPage } from "./house.mjs";

const run = promisify(execFile);
const FRAMES = 48;
/** The bars: drawn frames a second, latency of 19 of 20 frames (ms), and how far a drawn target may lie from its truth (mm). */
const FPS = 10;
const LATENCY = 150;
const NEAR = 3;

/** A film that goes forth and back, so that its end meets its beginning, and the truth of its frames. */
async function film(folder, seed) {
  const file = path.join(folder, `${seed}.mjpeg`);
  const { stdout } = await run(binary, ["phantom", file, "--seed", String(seed), "--film", String(FRAMES), "--json"], { maxBuffer: 1 << 28 });
  const bytes = await readFile(file);
  const frames = [];
  for (let from = 0, at = 2; from < bytes.length; from = at, at += 2) {
    while (at < bytes.length && !(bytes[at] === 0xff && bytes[at + 1] === 0xd8 && bytes[at + 2] === 0xff)) at += 1;
    frames.push(bytes.subarray(from, at));
  }
  ensure(frames.length === FRAMES, `the film has ${frames.length} pictures`);
  await writeFile(file, Buffer.concat([...frames, ...frames.slice(1, -1).reverse()]));
  return { file, truth: JSON.parse(stdout) };
}

/** Notes of each frame that is sent its number and what was answered, and which frame the video shows when it has been drawn. */
function instrument() {
  const pen = () => new OffscreenCanvas(480, 360).getContext("2d", { willReadFrequently: true });
  const [sentPen, shownPen] = [pen(), pen()];
  const number = (context, picture, block) => {
    context.drawImage(picture, 0, 0, 480, 360);
    const { data } = context.getImageData(0, 0, 120, 12);
    const light = (i) => data[4 * (Math.round(block / 2) * 120 + Math.round((i + 0.5) * block)) + 1];
    if (light(0) < 150 || light(1) > 100) return -1;
    return [2, 3, 4, 5, 6, 7, 8, 9].reduce((n, i) => 2 * n + (light(i) > 128 ? 1 : 0), 0);
  };
  globalThis.noted = [];
  const fetched = globalThis.fetch.bind(globalThis);
  globalThis.fetch = async (address, options) => {
    if (!String(address).includes("/live/frame")) return fetched(address, options);
    const body = options.body;
    const answered = await fetched(address, options);
    const json = await answered.json();
    // Looked at after the answer has been drawn, so that the watch costs no time before.
    requestAnimationFrame(async () => {
      const shown = number(shownPen, document.querySelector("[data-live=video]"), 12);
      const picture = await createImageBitmap(body);
      const size = [picture.width, picture.height];
      const sent = number(sentPen, picture, 12);
      globalThis.noted.push({ asked: String(address), bytes: body.size, size, sent, shown, answer: { ...json, now: json.now && { ...json.now, art: json.now.art.length } } });
    });
    return new Response(JSON.stringify(json), { status: answered.status, headers: answered.headers });
  };
}

async function withCamera(seed, use, { camera = true, page: options = {} } = {}) {
  const folder = await mkdtemp(path.join(tmpdir(), "tragion-live-"));
  const reel = camera ? await film(folder, seed) : null;
  const desk = await startDesk(["--today", "2026-03-01"], { unlocked: true });
  const flags = camera
    ? ["--use-fake-device-for-media-stream", "--use-fake-ui-for-media-stream", `--use-file-for-fake-video-capture=${reel.file}`]
    : [];
  const house = await startBrowser(flags);
  const watched = await watchedPage(house.browser, desk.address, options);
  watched.page.context().setDefaultTimeout(20000);
  try {
    await watched.page.goto(desk.printed, { waitUntil: "networkidle" });
    return await use({ ...watched, desk, truth: reel?.truth });
  } finally {
    await house.stop();
    await desk.stop();
    await rm(folder, { recursive: true, force: true });
  }
}

/** Opens the page and its camera, and waits for the first drawing. */
async function opened(page, desk, target, side) {
  await page.goto(`${desk.address}live?target=${target}&side=${side}`, { waitUntil: "networkidle" });
  await page.getByRole("button", { name: "Use the camera" }).click();
  await page.waitForSelector(".live-now", { state: "attached" });
}

const quantile = (list, share) => [...list].sort((a, b) => a - b)[Math.min(list.length - 1, Math.floor(list.length * share))];

/** How far what was answered lies from the truth of a frame, mm: a point's place; of a line or zone the mean along it. */
function away(answer, truth, number) {
  const frame = truth.frames[number];
  const scale = truth.size[0] / answer.size[0];
  const misses = [];
  for (const place of answer.now.places) {
    const wanted = frame.targets.find((t) => t.target === answer.now.target && t.side === place.side);
    if (!wanted) return null;
    const pairs = wanted.ways.length || wanted.outline.length
      ? [...place.ways.flat().map((p, i) => [p, wanted.ways.flat()[i]]), ...place.outline.map((p, i) => [p, wanted.outline[i]])]
      : [[place.at, wanted.at]];
    const far = pairs.map(([a, b]) => Math.hypot(a[0] * scale - b[0], a[1] * scale - b[1]) * frame.mm_per_px);
    misses.push(far.reduce((s, v) => s + v, 0) / far.length);
  }
  return Math.max(...misses);
}

const cases = [
  {
    name: `live: at least ${FPS} drawn frames a second, ${LATENCY} ms at most; of the targets on the face 95 of 100 within ${NEAR} mm; what hangs on the hairline is told`,
    run: () =>
      withCamera(2, async ({ page, desk, truth, calm }) => {
        await opened(page, desk, "LI20", "left");
        // Speed first, with nothing of ours in the page. A busy machine gets three tries of five seconds.
        const tries = [];
        for (let i = 0; i < 3; i += 1) {
          await page.waitForTimeout(5000);
          const { fps, latency, worst } = await page.evaluate(() => globalThis.livePage.stats());
          tries.push({ fps, latency, worst, load: loadavg()[0] });
          if (fps >= FPS && worst <= LATENCY) break;
        }
        const said = tries.map((t) => `${t.fps.toFixed(1)} a second, ${t.latency.toFixed(0)} ms, 19 of 20 below ${t.worst.toFixed(0)} ms, load ${t.load.toFixed(1)}`).join("; ");
        console.log(`    ${said}`);
        // Then where things are drawn: every target that a picture of a face carries, for some frames each.
        await page.evaluate(instrument);
        const targets = truth.frames[0].targets;
        for (const { target, side } of targets) {
          await page.evaluate(([t, s]) => Object.assign(document.getElementById("live-shown").dataset, { target: t, side: s }), [target, side]);
          // Long enough to see the head in several poses: which frames come differs from run to run.
          await page.waitForTimeout(450);
          // Each at least twice, however slow the machine.
          await page.waitForFunction(([t, s]) => globalThis.noted.filter((n) => n.asked.includes(`target=${t}&side=${s}`)).length >= 2, [target, side]);
        }
        const noted = await page.evaluate(() => globalThis.noted);
        const misses = { face: [], hairline: [], lag: [] };
        const missed = new Map();
        const unseen = new Set();
        for (const { asked, sent, shown, answer } of noted) {
          ensure(sent >= 0 && sent < FRAMES, `a frame that was sent has no number: ${sent}`);
          if (!answer.now) {
            ensure(answer.why === "drawing", `nothing is drawn: ${answer.why}`);
            unseen.add(new URL(asked, desk.address).searchParams.get("target"));
            continue;
          }
          const mm = away(answer, truth, sent);
          if (mm === null) continue;
          const key = `${answer.now.target} ${answer.now.places[0].side}`;
          const hairline = targets.find((t) => t.target === answer.now.target).by_hairline;
          misses[hairline ? "hairline" : "face"].push(mm);
          if (mm > NEAR) missed.set(key, Math.max(mm, missed.get(key) ?? 0));
          if (!hairline && shown >= 0 && shown < FRAMES) misses.lag.push(away(answer, truth, shown));
        }
        const words = (list) => `${list.length} drawn, middle ${quantile(list, 0.5).toFixed(2)} mm, 19 of 20 below ${quantile(list, 0.95).toFixed(2)} mm, worst ${Math.max(...list).toFixed(2)} mm`;
        console.log(`    on the frame sent: ${words(misses.face)}`);
        console.log(`    on the frame that is seen when it is drawn: ${words(misses.lag)}`);
        console.log(`    those that hang on the hairline: ${misses.hairline.length ? words(misses.hairline) : "none drawn"}`);
        console.log(`    beyond ${NEAR} mm at worst: ${[...missed].map(([k, v]) => `${k} ${v.toFixed(1)}`).join(", ") || "none"}; on the drawing alone: ${[...unseen].join(", ")}`);
        const best = tries.find((t) => t.fps >= FPS && t.worst <= LATENCY);
        ensure(misses.face.length > 100, `too few frames were compared: ${misses.face.length}`);
        ensure(quantile(misses.face, 0.95) <= NEAR, `one in twenty lies further than ${NEAR} mm from its truth: ${words(misses.face)}`);
        ensure(best, `too slow: ${said}`);
        calm();
      }),
  },
  {
    name: "live: in the mirror the left is on the left, the words are not turned over, frames are small and none is stored",
    run: () =>
      withCamera(5, async ({ page, desk, requests, calm }) => {
        await opened(page, desk, "LI20", "left");
        // Of what is drawn right now: each answer draws anew, and a picture in between may show no face.
        const drawn = async (side) => {
          const at = await page.waitForFunction((side) => {
            if (document.getElementById("live-shown").dataset.side !== side) return null;
            const box = document.querySelector(".live-now[data-target=LI20]")?.getBoundingClientRect();
            return box?.width ? box.left + box.width / 2 : null;
          }, side);
          return at.jsonValue();
        };
        const left = await drawn("left");
        const video = await page.locator("[data-live=video]").evaluate((e) => { const b = e.getBoundingClientRect(); return b.left + b.width / 2; });
        await page.getByLabel("your right").check();
        await page.waitForFunction(() => document.getElementById("live-shown").dataset.side === "right");
        // What was asked before for the left may still be on its way.
        await page.waitForTimeout(800);
        const right = await drawn("right");
        ensure(left < right, `in the mirror the left point is at ${left}, the right one at ${right}`);
        const words = await page.locator("[data-live=side-left]").evaluate((e) => [e.getBoundingClientRect().left, getComputedStyle(e).transform, getComputedStyle(e.parentElement).transform]);
        ensure(words[0] < video && words[1] === "none" && words[2] === "none", `the words are turned over or on the wrong side: ${words}`);
        for (const name of ["video", "overlay"]) {
          const turned = await page.locator(`[data-live=${name}]`).evaluate((e) => getComputedStyle(e).transform);
          ensure(turned.startsWith("matrix(-1"), `the ${name} is no mirror: ${turned}`);
        }
        await page.evaluate(instrument);
        await page.waitForFunction(() => globalThis.noted.length > 3);
        const noted = await page.evaluate(() => globalThis.noted);
        ensure( noted.every((n) => n.bytes < 60000 && n.size[0] <= 480), "frames are larger than they need be");
        // What the frames hold is mirrored nowhere: the number in the corner is read from left to right.
        ensure(noted.every((n) => n.sent >= 0), "a frame was sent turned over");
        const stored = await page.evaluate(async () => [localStorage.length, sessionStorage.length, (await caches.keys()).length, (await indexedDB.databases()).length]);
        ensure(stored.every((n) => n === 0), `something is stored in the browser: ${stored}`);
        for (const width of [1440, 820, 360]) {
          await page.setViewportSize({ width, height: width === 360 ? 740 : 900 });
          await page.waitForTimeout(400);
          await ensureNoSideways(page, `the live face at ${width}`);
          await ensureAccessible(page, `the live face at ${width}`);
          await shot(page, `live-${width}`);
        }
        await page.getByRole("button", { name: "Close the camera" }).click();
        await page.waitForTimeout(300);
        const before = requests.length;
        await page.waitForTimeout(800);
        ensure(requests.length === before, "frames are sent after the camera was closed");
        ensure(requests.some((r) => r.url.endsWith("/live/end")), "the program is not told that the camera was closed");
        ensure((await page.locator("[data-live=overlay] > *").count()) === 0, "something is still drawn");
        calm();
      }),
  },
  {
    name: "live: places no picture carries are said to be on the drawing; without a camera, and without script, the drawing stays",
    run: async () => {
      await withCamera(1, async ({ page, desk, calm }) => {
        await page.goto(`${desk.address}live?target=ear&side=left`, { waitUntil: "networkidle" });
        await page.getByRole("button", { name: "Use the camera" }).click();
        await page.waitForFunction(() => document.querySelector("[data-live=says]").textContent.includes("on the drawing"));
        ensure((await page.locator(".live-now").count()) === 0, "the ear is drawn on the picture");
        // By keyboard alone: another place.
        await page.locator("#live-target").focus();
        await page.locator("#live-target").selectOption("orbit_ring");
        await page.waitForSelector(".live-now[data-target=orbit_ring]", { state: "attached" });
        calm();
      });
      await withCamera(1, async ({ page, desk, calm }) => {
        await page.goto(`${desk.address}live`, { waitUntil: "networkidle" });
        await page.getByRole("button", { name: "Use the camera" }).click();
        await page.waitForFunction(() => document.querySelector("[data-live=said]").textContent.includes("The drawing shows"));
        ensure(await page.locator(".live-drawn svg").isVisible(), "the drawing is gone");
        await shot(page, "live-no-camera");
        calm();
      }, { camera: false });
      await withCamera(1, async ({ page, desk }) => {
        await page.goto(`${desk.address}live?target=jaw_muscle&side=right`);
        ensure(!(await page.getByRole("button", { name: "Use the camera" }).isVisible()), "a camera is offered without script");
        ensure(await page.locator(".live-drawn svg").isVisible(), "no drawing without script");
        await page.locator("#live-target").selectOption("LI20");
        await page.getByRole("button", { name: "Show it" }).click();
        await page.waitForURL(/target=LI20/);
      }, { camera: false, page: { javaScriptEnabled: false } });
    },
  },
];

export default cases;
