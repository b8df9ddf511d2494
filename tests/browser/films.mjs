// A film in a real browser: made by mouse and by keyboard alone, read large, its times tapped with a film and without, by hand without script.

import { ensure, ensureAccessible, ensureNoSideways, shot, startDesk, watchedPage } from "./house.mjs";

const DAY = ["--today", "2026-03-01"];

/** Presses Tab until the focus is on what is looked for. */
async function tabTo(page, selector) {
  for (let i = 0; i < 200; i += 1) {
    if (await page.evaluate((s) => document.activeElement?.matches(s), selector)) return;
    await page.keyboard.press("Tab");
  }
  throw new Error(`the keyboard does not reach ${selector}`);
}

/** A routine for everybody, drafted and kept, without script: the way that asks the least of a slow machine. */
async function routine(browser, desk, name) {
  const { page, close } = await watchedPage(browser, desk.address, { javaScriptEnabled: false });
  await page.goto(desk.printed);
  const cookies = await page.context().cookies();
  await page.goto(`${desk.address}routines/new`);
  await page.fill("#name", name);
  await page.locator("#editor input[name=minutes]").fill("5");
  await page.locator("input[name=concern][value=tight_jaw]").first().check({ force: true });
  await page.locator("button[value=draft]").first().click({ force: true });
  await page.locator("button[value=take]").first().click();
  await page.locator("button[value=save]").first().click();
  await page.waitForURL(/routines\/\d+\?done=saved/);
  await close();
  return cookies;
}

let practice = null;
// Where the last case is not run, the desk ends with the tests.
process.once("exit", () => void practice?.desk.stop());

/** One practice with a routine for everybody, for all cases. */
async function inside(browser, { refusals = false, ...options }, run) {
  if (!practice) {
    const desk = await startDesk(DAY, { unlocked: true });
    practice = { desk, cookies: await routine(browser, desk, "Evening for the jaw") };
  }
  const { desk, cookies } = practice;
  const watched = await watchedPage(browser, desk.address, options);
  await watched.page.context().addCookies(cookies);
  try {
    await run(watched.page, desk.address);
    try {
      watched.calm();
    } catch (error) {
      // What the test has refused on purpose is told by the browser too.
      const told = error.message.replace("the page was not calm: ", "").split("; ");
      if (!refusals || !told.every((t) => t.includes("422"))) throw error;
    }
  } finally {
    await watched.close();
  }
}

/** Makes a film by the form, as it stands there. */
async function film(page, address) {
  await page.goto(`${address}publish/films/new?routine=1`);
  await page.locator("form.film-ask button.go").click();
  await page.waitForURL(/publish\/films\/\d+\?done=saved/);
  return page.url().split("?")[0];
}

async function seen(page, name) {
  for (const width of [1440, 820, 360]) {
    await page.setViewportSize({ width, height: 900 });
    await ensureAccessible(page, `${name} at ${width}`);
    await ensureNoSideways(page, `${name} at ${width}`);
    await shot(page, `${name}-${width}`);
  }
  await page.setViewportSize({ width: 320, height: 800 });
  await ensureNoSideways(page, `${name} at 320`);
  await page.setViewportSize({ width: 1440, height: 900 });
}

/** A second of film that counts, made in the page: bytes of a WebM. */
function tinyFilm(page, seconds) {
  return page.evaluate(async (seconds) => {
    const canvas = document.createElement("canvas");
    canvas.width = 64;
    canvas.height = 36;
    const paint = canvas.getContext("2d");
    const parts = [];
    const recorder = new MediaRecorder(canvas.captureStream(10), { mimeType: "video/webm" });
    recorder.ondataavailable = (event) => parts.push(event.data);
    const ended = new Promise((resolve) => (recorder.onstop = resolve));
    recorder.start();
    const begun = performance.now();
    await new Promise((resolve) => {
      const draw = () => {
        paint.fillStyle = `hsl(${performance.now() / 10}, 50%, 50%)`;
        paint.fillRect(0, 0, 64, 36);
        if (performance.now() - begun < seconds * 1000) setTimeout(draw, 50);
        else resolve();
      };
      draw();
    });
    recorder.stop();
    await ended;
    const bytes = new Uint8Array(await new Blob(parts).arrayBuffer());
    return [...bytes];
  }, seconds);
}

export default [
  {
    name: "films: made by mouse, the kit is whole, its words are copied, nothing is sideways",
    run: ({ browser }) =>
      inside(browser, { refusals: true }, async (page, address) => {
        await page.goto(`${address}publish/films/new?routine=1`);
        await seen(page, "film-new");
        await page.fill("#name", "");
        await page.locator("form.film-ask").evaluate((form) => (form.noValidate = true));
        await page.fill("#own", "My oil, shop.example");
        const refused = page.waitForResponse((r) => r.request().method() === "POST");
        await page.locator("form.film-ask button.go").click();
        ensure((await refused).status() === 422, "a film without a name was kept");
        await page.locator(".missing a[href='#name']").waitFor();
        ensure((await page.inputValue("#own")) === "My oil, shop.example", "what was typed is lost");
        await page.fill("#name", "An evening for the jaw");
        await page.fill("#title", "Guaranteed: this cures your migraine");
        await page.locator("label[for=unpaid]").click();
        await page.locator("form.film-ask button.go").click();
        await page.waitForURL(/publish\/films\/\d+\?done=saved/);
        await page.locator("#title-1").waitFor();
        await page.locator("summary", { hasText: "The whole script" }).click();
        await page.waitForFunction(() => [...document.querySelectorAll(".stills img")].slice(0, 2).every((i) => i.complete && i.naturalWidth > 0));
        await seen(page, "film-kit");
        await page.context().grantPermissions(["clipboard-read", "clipboard-write"]);
        await page.locator("button[data-copy=video-description]").click();
        await page.locator("button[data-copy=video-description]", { hasText: "Copied" }).waitFor();
        const copied = await page.evaluate(() => navigator.clipboard.readText());
        ensure(copied.includes("My own product, which I sell: My oil, shop.example"), "the description was not copied");
        ensure((await page.locator("a.button.go, button.go").count()) === 1, "more than one blue action");
      }),
  },
  {
    name: "films: by night, and read large by keyboard",
    run: ({ browser }) =>
      inside(browser, { colorScheme: "dark" }, async (page, address) => {
        const at = await film(page, address);
        await ensureAccessible(page, "the kit by night");
        await shot(page, "film-kit-night");
        await page.goto(`${at}/read`);
        await seen(page, "film-read");
        const large = await page.locator(".reading-act p").first().evaluate((p) => parseFloat(getComputedStyle(p).fontSize));
        ensure(large >= 56, `the script has ${large} px at 1440`);
        const buttons = await page.locator(".reading-foot button").evaluateAll((all) => all.map((b) => b.getBoundingClientRect().height));
        ensure(buttons.every((h) => h >= 72), `buttons of ${buttons} px`);
        const first = () => page.locator(".reading-lines").evaluate((l) => [...l.children].findIndex((a) => a.getBoundingClientRect().bottom > l.getBoundingClientRect().top + 8));
        ensure((await first()) === 0, "it does not begin at its beginning");
        const lines = await page.locator(".reading-act").count();
        for (let i = 0; i < 80 && (await first()) < 2; i += 1) await page.keyboard.press(i % 2 ? "Space" : "PageDown");
        ensure((await first()) >= 2 && lines > 6, "the keys do not turn the pages");
        for (let i = 0; i < 40 && (await first()) > 0; i += 1) await page.keyboard.press("ArrowLeft");
        ensure((await first()) === 0, "there is no way back");
        await page.locator("[data-read=next]").click();
      }),
  },
  {
    name: "films: the keyboard alone makes a film and taps its times with a stopwatch",
    run: ({ browser }) =>
      inside(browser, {}, async (page, address) => {
        await page.goto(`${address}publish/films/new?routine=1`);
        await tabTo(page, "#name");
        await page.keyboard.press("Control+a");
        await page.keyboard.type("By keyboard");
        await tabTo(page, "form.film-ask button.go");
        await page.keyboard.press("Enter");
        await page.waitForURL(/publish\/films\/\d+\?done=saved/);
        const at = page.url().split("?")[0];
        await page.goto(`${at}/tap`);
        await seen(page, "film-tap");
        const rows = await page.locator("[data-tap=row]").count();
        const filled = () => page.locator("[data-tap=row] input").evaluateAll((all) => all.filter((i) => i.value).length);
        await tabTo(page, "[data-tap=now]");
        const tall = await page.locator("[data-tap=now]").evaluate((b) => b.getBoundingClientRect().height);
        ensure(tall >= 72, `the large button has ${tall} px`);
        await page.keyboard.press("Space");
        ensure((await filled()) === 1, "space on the large button tapped twice or not at all");
        ensure((await page.locator("[aria-current=step] input").getAttribute("id")) === "t2", "the next step is not shown");
        // The next tap must lie a second later: wait for the clock, not for a time.
        await page.waitForFunction(() => document.querySelector("[data-tap=clock]").textContent >= "0:02");
        await page.keyboard.press("Space");
        ensure((await filled()) === 2, "the second tap is missing");
        await page.keyboard.press("Backspace");
        ensure((await filled()) === 1 && (await page.locator("[data-tap=told]").textContent()).includes("taken back"), "undo does nothing");
        await page.keyboard.press("Space");
        ensure((await filled()) === 2, "no tap after the undo");
        // All emptied can be taken back too.
        await page.locator("[data-tap=again]").click();
        ensure((await filled()) === 0, "the times still stand there");
        await page.locator("[data-tap=undo]").click();
        ensure((await filled()) === 2, "the emptied times are lost");
        // In a field the keys type.
        await page.focus("#t3");
        await page.keyboard.type("1:00");
        await page.keyboard.press("Backspace");
        await page.keyboard.type("5");
        ensure((await page.inputValue("#t3")) === "1:05", "backspace in a field did something else");
        ensure((await page.locator("[aria-current=step] input").getAttribute("id")) === "t4", "a typed time does not count");
        await tabTo(page, "[data-tap=keep]");
        await page.keyboard.press("Enter");
        await page.waitForURL(/done=tapped/);
        const csv = await page.evaluate((a) => fetch(a).then((r) => r.text()), `${at}/files/times.csv`);
        const times = csv.trim().split("\n").slice(1).map((l) => Number(l.split(",")[1]));
        ensure(times.length === rows && times[0] === 0 && times[2] === 65, `kept: ${times}`);
      }),
  },
  {
    name: "films: tapped along to a film that stays in the browser",
    run: ({ browser }) =>
      inside(browser, {}, async (page, address) => {
        const at = await film(page, address);
        const bytes = await tinyFilm(page, 1.2);
        await page.goto(`${at}/tap`);
        await page.locator("#film-file").setInputFiles({ name: "notes.mp4", mimeType: "video/mp4", buffer: Buffer.from("no film") });
        await page.locator("[data-tap=unplayable]").waitFor();
        ensure(await page.locator("[data-tap=run]").isVisible(), "there is no stopwatch beside a film that can't be played");
        await page.locator("#film-file").setInputFiles({ name: "mine.webm", mimeType: "video/webm", buffer: Buffer.from(bytes) });
        await page.waitForFunction(() => document.querySelector("[data-tap=film]").readyState >= 1);
        ensure((await page.locator("[data-tap=film]").getAttribute("src")).startsWith("blob:"), "the film is not played from the disk");
        await page.locator("[data-tap=film]").evaluate((v) => v.play());
        await page.waitForFunction(() => document.querySelector("[data-tap=film]").currentTime > 0.3);
        await page.locator("[data-tap=now]").click();
        const first = await page.inputValue("#t1");
        ensure(/^0:0\d(\.\d)?$/.test(first), `tapped at ${first}`);
        const sent = page.waitForRequest((r) => r.method() === "POST" && r.url().endsWith("/tap"));
        await page.fill("#length", "");
        await page.locator("[data-tap=keep]").click();
        const request = await sent;
        ensure(!request.postData().includes("webm") && request.postData().length < 8000, "the film was sent");
        await page.waitForURL(/done=tapped/);
      }),
  },
  {
    name: "films: without script times are typed, and what is refused comes back whole",
    run: ({ browser }) =>
      inside(browser, { javaScriptEnabled: false, refusals: true }, async (page, address) => {
        const at = await film(page, address);
        await page.goto(`${at}/tap`);
        ensure(!(await page.locator("[data-tap=along]").isVisible()), "what needs a script is shown");
        await page.fill("#t1", "0:10");
        await page.fill("#t2", "0:09");
        await page.fill("#t3", "soon");
        await page.locator("[data-tap=keep]").click();
        await page.locator(".missing a[href='#t3']").waitFor();
        ensure((await page.inputValue("#t3")) === "soon" && (await page.inputValue("#t1")) === "0:10", "typed times are lost");
        await page.fill("#t3", "1:00");
        await page.locator("[data-tap=keep]").click();
        await page.locator(".missing a[href='#t2']").waitFor();
        await page.fill("#t2", "0:30");
        await page.locator("[data-tap=keep]").click();
        await page.waitForURL(/done=tapped/);
        ensure(await page.locator("#chapters").isVisible(), "the chapters can't be selected");
        await page.goto(`${at}/read`);
        ensure((await page.locator(".reading-act").count()) > 6, "there is nothing to read");
      }),
  },
  {
    name: "films: the practice of the films is closed",
    run: async () => {
      await practice?.desk.stop();
      practice = null;
    },
  },
];
