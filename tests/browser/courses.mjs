// A course of sixty invented people: its pages at every width, without script, and a folder of notes taken in.

import { execFile } from "node:child_process";
import { mkdtemp, readdir, rm, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import path from "node:path";
import { fileURLToPath } from "node:url";
import { promisify } from "node:util";
import { ensure, ensureAccessible, ensureNoSideways, shot, shots, startDesk, watchedPage } from "./house.mjs";

const WIDTHS = [[1440, 900], [820, 1180], [360, 740], [320, 640]];
const root = path.resolve(path.dirname(fileURLToPath(import.meta.url)), "../..");
const run = promisify(execFile);

const PAGES = {
  list: "/courses",
  new: "/courses/new",
  members: "/courses/1/members",
  course: "/courses/1",
  "leave-out": "/courses/1/leave-out?client=1",
  in: "/courses/1/in",
};

/** Runs with a desk on a practice with a course of so many people; `enter` lets a page in. */
async function inCourse(people, work) {
  const folder = await mkdtemp(path.join(tmpdir(), "tragion-course-"));
  const notes = path.join(folder, "notes");
  await run("cargo", ["run", "-q", "-p", "cabinet", "--example", "course", "--", path.join(folder, "cabinet"), String(people), notes], { cwd: root });
  const desk = await startDesk(["--today", "2026-03-24"], { unlocked: true, folder });
  try {
    await work({ address: desk.address, notes, enter: (page) => page.goto(desk.printed, { waitUntil: "networkidle" }) });
  } finally {
    await desk.stop();
    await rm(folder, { recursive: true, force: true });
  }
}

async function everyWidth({ browser }) {
  await inCourse(60, async ({ address, enter }) => {
    for (const [width, height] of WIDTHS) {
      const { page, calm, close } = await watchedPage(browser, address, { viewport: { width, height } });
      await enter(page);
      for (const [name, at] of Object.entries(PAGES)) {
        await page.goto(new URL(at, address).href, { waitUntil: "networkidle" });
        await ensureNoSideways(page, `${name} at ${width}`);
        await ensureAccessible(page, `${name} at ${width}`);
        await shot(page, `courses-${name}-${width}`);
        if (name === "course") await page.locator("#change").screenshot({ path: path.join(shots, `courses-change-${width}.png`) });
      }
      calm();
      await close();
    }
  });
}

/** Of hundreds the picture is a histogram. */
async function hundreds({ browser }) {
  await inCourse(260, async ({ address, enter }) => {
    for (const [width, height] of WIDTHS.slice(0, 3)) {
      const { page, calm, close } = await watchedPage(browser, address, { viewport: { width, height } });
      await enter(page);
      await page.goto(new URL("/courses/1#change", address).href, { waitUntil: "networkidle" });
      ensure((await page.locator("svg.course:visible").count()) === 1, "one picture is to be seen");
      ensure((await page.locator("svg.course:visible rect.bar").count()) > 8, "bars");
      await page.locator("#change").screenshot({ path: path.join(shots, `courses-hundreds-${width}.png`) });
      calm();
      await close();
    }
  });
}

async function aFolder({ browser }) {
  await inCourse(30, async ({ address, notes, enter }) => {
    await writeFile(path.join(notes, "broken.json"), "{");
    const { page, calm, close } = await watchedPage(browser, address);
    await enter(page);
    await page.goto(new URL("/courses/1/in", address).href, { waitUntil: "networkidle" });
    await page.getByRole("button", { name: "Take the notes in" }).click();
    await page.getByText("Choose a folder or files first.").waitFor();
    await page.locator("#note-folder").setInputFiles(notes);
    await page.getByRole("button", { name: "Take the notes in" }).click();
    await page.getByText("All 31 files are sent.").waitFor();
    await page.getByText(`Days that are new: ${30 * 28}`).waitFor();
    ensure((await page.locator("#report").innerText()).includes("broken.json"), "the broken file is told by name");
    await ensureAccessible(page, "the report");
    await shot(page, "courses-report-1440");
    await page.setViewportSize({ width: 360, height: 740 });
    await ensureNoSideways(page, "the report at 360");
    await shot(page, "courses-report-360");
    calm();
    await close();
  });
}

async function withoutScript({ browser }) {
  await inCourse(12, async ({ address, notes, enter }) => {
    const { page, close } = await watchedPage(browser, address, { javaScriptEnabled: false });
    await enter(page);
    await page.goto(new URL("/courses/1/in", address).href);
    const files = (await readdir(notes)).slice(0, 5).map((name) => path.join(notes, name));
    await page.locator("#note-files").setInputFiles(files);
    await page.getByRole("button", { name: "Take the notes in" }).click();
    await page.getByText(`Days that are new: ${5 * 28}`).waitFor();
    await page.goto(new URL("/courses/1", address).href);
    await page.getByRole("link", { name: /^Leave out.*Person 00000/ }).click();
    await page.getByRole("button", { name: "Leave out" }).click();
    await page.getByText("Nobody is left out, or taken back, without a written reason.").waitFor();
    await page.locator("#reason").fill("Moved away in the first week.");
    await page.getByRole("button", { name: "Leave out" }).click();
    await page.getByText("Person 00000 was left out on").waitFor();
    await close();
  });
}

export default [
  { name: "courses: every page at every width, and nothing that axe finds", run: everyWidth },
  { name: "courses: of hundreds a histogram", run: hundreds },
  { name: "courses: a folder of home notes comes in, in parts, with what is broken told", run: aFolder },
  { name: "courses: without script", run: withoutScript },
];
