// The routine editor in a real browser: by keyboard alone, without script, at every width.

import { ensure, ensureAccessible, ensureNoSideways, shot, startDesk, watchedPage } from "./house.mjs";

/** A client with consent and five times no, so that featherlight work is open. */
async function client(page, address, name) {
  await page.goto(`${address}clients/new`);
  await page.fill("#name", name);
  await page.click("main button.go");
  await page.locator(".consent button").first().click();
  const at = page.url().split("?")[0];
  await page.goto(`${at}/intake`);
  for (const group of ["today", "heart_and_neck", "eyes", "skin_and_face", "long_term"]) {
    await page.locator(`[id="group.${group}.no"]`).check();
  }
  await page.locator("main button.go").click();
  return at;
}

async function inside(browser, options, run) {
  const desk = await startDesk(["--today", "2026-03-01"], { unlocked: true });
  const { page, calm, close } = await watchedPage(browser, desk.address, options);
  try {
    await page.goto(desk.printed);
    await run(page, desk.address);
    calm();
  } finally {
    await close();
    await desk.stop();
  }
}

/** Waits until the editor has answered: the list is as long as said, or the words are there. */
const steps = (page, n) => page.waitForFunction((n) => document.querySelectorAll(".ed-step").length === n, n);

/** Presses Tab until the focus is on what is looked for. */
async function tabTo(page, selector) {
  for (let i = 0; i < 400; i += 1) {
    if (await page.evaluate((s) => document.activeElement?.matches(s), selector)) return;
    await page.keyboard.press("Tab");
  }
  throw new Error(`the keyboard does not reach ${selector}`);
}

export default [
  {
    name: "editor: the keyboard alone writes a routine, mends it, keeps it and sees it",
    run: ({ browser }) =>
      inside(browser, {}, async (page, address) => {
        const at = await client(page, address, "Ana Example");
        await page.goto(`${address}routines/new?client=${at.split("/").pop()}`);
        await tabTo(page, "#name");
        await page.keyboard.type("Before sleep");
        await tabTo(page, "#place-find");
        await page.keyboard.type("chewing muscle at left");
        await page.keyboard.press("Enter");
        await steps(page, 1);
        ensure((await page.locator(".ed-step").textContent()).includes("Chewing muscle at the angle of the jaw"), "another place was added");
        // Each repair is a button; the next one has the focus after the last.
        for (let i = 0; i < 40 && (await page.locator(".ed-breaches button").count()) > 0; i += 1) {
          await tabTo(page, ".ed-breaches button");
          const before = await page.locator("#ed-verdict").innerHTML();
          await page.keyboard.press("Enter");
          await page.waitForFunction((b) => document.getElementById("ed-verdict").innerHTML !== b, before);
        }
        ensure((await page.locator("#ed-verdict").textContent()).includes("Nothing to mend."), "something is left to mend");
        const count = await page.locator(".ed-step").count();
        ensure(count >= 5, `only ${count} steps: the way is not there`);
        // A select is changed with the arrow keys, and keeps the focus.
        const work = await page.locator(".ed-step").evaluateAll((rows) => rows.findIndex((r) => r.querySelector("[name=target]").value === "jaw_muscle") + 1);
        await page.focus(`#change-${work} summary`);
        await page.keyboard.press("Enter");
        await tabTo(page, `#seconds-${work}`);
        const was = await page.locator(`#step-${work} .how`).textContent();
        await page.keyboard.press("ArrowDown");
        await page.waitForFunction(([n, b]) => document.querySelector(`#step-${n} .how`).textContent !== b, [work, was]);
        ensure(await page.evaluate((n) => document.activeElement?.id === `seconds-${n}`, work), "the focus is lost");
        await tabTo(page, "button[value=save]").catch(async () => {
          await page.focus("#name");
          await tabTo(page, "button[value=save]");
        });
        await page.keyboard.press("Enter");
        await page.waitForURL(/routines\/1\?done=saved/);
        await page.goto(`${address}routines/1/ready`);
        await page.locator("main a.go", { hasText: "Session" }).waitFor();
        await page.focus("main a.go");
        await page.keyboard.press("Enter");
        await page.waitForURL(/routines\/1\/session\?version=\d+$/);
        await page.getByRole("button", { name: "To the session" }).waitFor();
      }),
  },
  {
    name: "editor: without script every button asks for the whole page, and nothing is lost",
    run: ({ browser }) =>
      inside(browser, { javaScriptEnabled: false }, async (page, address) => {
        await page.goto(`${address}routines/new`);
        await page.fill("#name", "For the class");
        await page.selectOption("#place", "jaw_muscle.left");
        await page.click("button[value=add]");
        ensure((await page.locator(".ed-step").count()) === 1, "no step");
        for (let i = 0; i < 40 && (await page.locator(".ed-breaches button").count()) > 0; i += 1) {
          await page.locator(".ed-breaches button").first().click();
        }
        ensure((await page.inputValue("#name")) === "For the class", "the name is lost");
        await page.click("button[value=save]");
        ensure(page.url().includes("/routines/1?done=saved"), page.url());
        await page.click("text=See it, run it, print it");
        ensure((await page.locator(".step").count()) > 3, "no steps to print");
      }),
  },
  {
    name: "editor: draft, list and ready page at every width, accessible",
    run: ({ browser }) =>
      inside(browser, {}, async (page, address) => {
        const at = await client(page, address, "Ana Example");
        await page.goto(`${address}routines/new?client=${at.split("/").pop()}`);
        await page.fill("#name", "Before sleep");
        await page.check("#concern-tight_jaw");
        await page.click("button[value=draft]");
        await page.locator("button[value=take]").click();
        await page.locator(".ed-step").first().waitFor();
        await page.locator("#step-6 summary").click();
        for (const [width, height, scheme] of [[1440, 900, "light"], [820, 1180, "light"], [360, 740, "dark"]]) {
          await page.setViewportSize({ width, height });
          await page.emulateMedia({ colorScheme: scheme });
          await ensureAccessible(page, `the editor at ${width}`);
          await ensureNoSideways(page, `the editor at ${width}`);
          await shot(page, `editor-${width}`);
        }
        await page.click("button[value=save]");
        await page.waitForURL(/done=saved/);
        for (const [name, path] of [["ready", "routines/1/ready"], ["versions", "routines/1/versions"], ["routines", "routines"]]) {
          await page.goto(`${address}${path}`);
          await page.waitForLoadState("networkidle");
          for (const width of [1440, 820, 360]) {
            await page.setViewportSize({ width, height: 900 });
            await ensureAccessible(page, `${name} at ${width}`);
            await ensureNoSideways(page, `${name} at ${width}`);
          }
          await page.setViewportSize({ width: 1440, height: 900 });
          await shot(page, `editor-${name}`);
        }
      }),
  },
];
