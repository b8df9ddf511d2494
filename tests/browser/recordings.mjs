// An old recording: captions are pasted, the draft is looked through, corrected, and gone on with in the editor; with and without script.

import { ensure, ensureAccessible, ensureNoSideways, shot, startDesk, watchedPage } from "./house.mjs";

const captions = `WEBVTT

00:00:01.000 --> 00:00:05.000
Good evening. If you have a fever, skip this today.

00:00:10.000 --> 00:00:15.000
Lay your right hand in the soft hollow above the left collarbone, for fifteen seconds.

00:00:40.000 --> 00:00:42.000
And now the other side.

00:01:10.000 --> 00:01:16.000
Small circles on the chewing muscle at the angle of the jaw, both sides. Twenty seconds. This melts wrinkles away.

00:01:50.000 --> 00:01:55.000
Press your thumb into the web of the hand for a moment.

00:02:10.000 --> 00:02:15.000
Then the cheek, a little. Never press on the throat.
`;

async function walk({ browser }, options, name) {
  const desk = await startDesk(["--today", "2026-03-01"], { unlocked: true });
  const script = options.javaScriptEnabled !== false;
  try {
    const watched = await watchedPage(browser, desk.address, options);
    const { page } = watched;
    page.setDefaultTimeout(30000);
    await page.goto(desk.printed);
    await page.goto(`${desk.address}publish/recordings`);
    if (script) await ensureAccessible(page, `${name}, blank`);
    await page.getByLabel("Or paste the captions").fill(captions);
    await page.getByRole("button", { name: "Read the captions" }).click();
    await page.getByText("4 steps were heard.").waitFor();
    ensure((await page.locator("button.go").count()) === 1, "more than one blue action");
    ensure((await page.locator("table.heard tbody tr").count()) === 4, "a step is missing");
    await ensureNoSideways(page, name);
    if (script) await ensureAccessible(page, name);
    await shot(page, name);
    const last = page.locator("#step-4");
    await last.locator("summary").click();
    await last.getByLabel("Where").selectOption("LI20");
    await last.getByLabel("Seconds").fill("10");
    if (script) await ensureAccessible(page, `${name}, a step open`);
    await page.getByRole("button", { name: "Check the corrections" }).last().click();
    await page.locator("#step-4").getByText("corrected by you").waitFor();
    await page.getByRole("button", { name: "Go on in the editor" }).click();
    await page.locator("form#editor").waitFor();
    ensure((await page.locator('form#editor input[name="target"][value="LI20"]').count()) === 1, "the correction is lost");
    watched.calm();
    await watched.close();
  } finally {
    await desk.stop();
  }
}

export default [
  { name: "recordings: read, corrected, gone on with, wide", run: (at) => walk(at, {}, "recordings-1440") },
  { name: "recordings: the same, middle", run: (at) => walk(at, { viewport: { width: 820, height: 1100 } }, "recordings-820") },
  { name: "recordings: the same, narrow", run: (at) => walk(at, { viewport: { width: 360, height: 800 } }, "recordings-360") },
  { name: "recordings: the same without script", run: (at) => walk(at, { javaScriptEnabled: false }, "recordings-plain") },
];
