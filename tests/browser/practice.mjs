// The practice's page: by keyboard alone, without script, and looked at at every width, on a practice of its own.

import { ensure, ensureAccessible, ensureNoSideways, passphrase, shot, startDesk, watchedPage } from "./house.mjs";

const WIDTHS = [[1440, 900], [820, 1180], [360, 740], [320, 640]];

/** Runs with a desk on a new practice, unlocked by a file; `enter` lets a page in. */
async function inPractice(work) {
  const desk = await startDesk(["--today", "2026-03-01"], { unlocked: true });
  try {
    await work({ address: desk.address, enter: (page) => page.goto(desk.printed, { waitUntil: "networkidle" }) });
  } finally {
    await desk.stop();
  }
}

/** Tabs until what has the focus is named so. */
async function tabTo(page, name, most = 80) {
  for (let i = 0; i < most; i += 1) {
    await page.keyboard.press("Tab");
    const here = await page.evaluate(() => {
      const e = document.activeElement;
      return (e.getAttribute("aria-label") ?? e.labels?.[0]?.textContent ?? e.textContent ?? "").trim();
    });
    if (name.test(here)) {
      const outlined = await page.evaluate(() => {
        const style = getComputedStyle(document.activeElement);
        return style.outlineStyle !== "none" || style.boxShadow !== "none";
      });
      ensure(outlined, `the focus on ${name} is not to be seen`);
      return;
    }
  }
  throw new Error(`no tab leads to ${name}`);
}

/** Chooses in a list that has the focus by typing the beginning of its words. */
const type = (page, words) => page.keyboard.type(words);

async function fillPoint(page) {
  await page.getByLabel("Name", { exact: true }).fill("Rest of the cheek");
  await page.locator("#sides").selectOption("lateral");
  await page.locator("#zone").selectOption("cheek_front");
  await page.locator("#find").fill("In the middle of the cheek.");
  await page.locator("#rule").fill("Where it was tapped.");
  await page.locator("#techniques-hold").check();
  await page.locator("#pressure").selectOption("light");
}

const PAGES = {
  practice: "/practice",
  backups: "/practice/backups",
  "own-point": "/practice/own/points/new",
  "own-points": "/practice/own/points",
  "own-technique": "/practice/own/techniques/new",
  import: "/practice/import",
  passphrase: "/practice/passphrase",
  check: "/practice/check",
  changes: "/practice/changes",
  export: "/practice/export",
  erase: "/practice/erase",
  devices: "/practice/devices",
};

export default [
  {
    name: "practice: every page, axe-core finds nothing, nothing scrolls sideways at any width",
    async run({ browser }) {
      await inPractice(async ({ address, enter }) => {
        for (const scheme of ["light", "dark"]) {
          for (const [width, height] of WIDTHS) {
            const { page, calm, close } = await watchedPage(browser, address, { viewport: { width, height }, colorScheme: scheme });
            await enter(page);
            if (scheme === "light" && width === 1440) {
              await page.goto(`${address}practice/backups`);
              await page.getByRole("button", { name: "Make one in the practice's folder" }).click();
              await page.goto(`${address}practice/own/points/new`);
              await fillPoint(page);
              await page.locator("#mm_across").fill("46");
              await page.locator("#mm_up").fill("-50.3");
              await page.locator("main button.go").click();
              await page.getByText("Rest of the cheek").waitFor();
              await page.goto(`${address}practice/devices`);
              await page.locator("#address").fill("127.0.0.1");
              await page.locator("main button.go").click();
              await page.locator(".pairing").waitFor();
            }
            for (const [name, at] of Object.entries(PAGES)) {
              if (scheme === "dark" && !["practice", "own-point", "devices"].includes(name)) continue;
              await page.goto(address + at.slice(1));
              await ensureNoSideways(page, `${name} at ${width} px`);
              await shot(page, `practice-${name}-${width}-${scheme}`);
              await ensureAccessible(page, `${name} at ${width} px`);
              const blue = await page.locator("main .go:visible").count();
              ensure(blue <= 1, `${name}: ${blue} blue actions`);
              const small = await page.locator("main button:visible, main a.button:visible, main input:visible:not([type=radio]):not([type=checkbox]), main select:visible, main summary:visible")
                .evaluateAll((all) => all.filter((e) => e.getBoundingClientRect().height < 43.5).map((e) => e.outerHTML.slice(0, 80)));
              ensure(small.length === 0, `${name} at ${width} px, smaller than 44 px: ${small.join(" | ")}`);
            }
            calm();
            await close();
          }
        }
      });
    },
  },
  {
    name: "practice: a backup, an own point and its mistake by keyboard alone",
    async run({ browser }) {
      await inPractice(async ({ address, enter }) => {
        const { page, close } = await watchedPage(browser, address);
        await enter(page);
        await page.goto(`${address}practice`);
        await tabTo(page, /^Backups$/);
        await page.keyboard.press("Enter");
        await page.waitForURL(/practice\/backups/);
        await tabTo(page, /^Make one in the practice's folder$/);
        await page.keyboard.press("Enter");
        await page.getByText("Kept.").waitFor();
        await page.goto(`${address}practice/own/points`);
        await tabTo(page, /^Add one$/);
        await page.keyboard.press("Enter");
        await page.waitForURL(/new$/);
        for (const [field, words] of [
          [/^Name/, "Rest of the cheek"],
          [/^Sides/, "Left"],
          [/^In which place/, "Front of the ch"],
          [/^How to find/, "In the middle of the cheek."],
          [/^Millimetres from/, "46"],
          [/^Millimetres above/, "much"],
          [/^Where it lies, in/, "Where it was tapped."],
        ]) {
          await tabTo(page, field);
          await type(page, words);
        }
        await tabTo(page, /^Hold/);
        await page.keyboard.press("Space");
        await tabTo(page, /^The most pressure/);
        await type(page, "Light");
        await tabTo(page, /^Keep it$/);
        await page.keyboard.press("Enter");
        await page.getByRole("alert").waitFor();
        ensure((await page.locator("#mm_up").getAttribute("aria-invalid")) === "true", "the field is not marked");
        ensure((await page.locator("#find").inputValue()) === "In the middle of the cheek.", "what was typed is lost");
        await ensureAccessible(page, "an own point with a mistake");
        await shot(page, "practice-own-point-mistake");
        // The list of mistakes leads to the field.
        await tabTo(page, /^Write a number of millimetres/);
        await page.keyboard.press("Enter");
        ensure((await page.evaluate(() => document.activeElement.id)) === "mm_up", "the link does not lead to the field");
        await page.keyboard.press("Control+A");
        await type(page, "-50,3");
        await tabTo(page, /^Keep it$/);
        await page.keyboard.press("Enter");
        await page.getByRole("link", { name: "Rest of the cheek" }).waitFor();
        await close();
      });
    },
  },
  {
    name: "practice: a tap on the drawn face gives the place; without script it is typed",
    async run({ browser }) {
      await inPractice(async ({ address, enter }) => {
        const { page, calm, close } = await watchedPage(browser, address);
        await enter(page);
        await page.goto(`${address}practice/own/points/new`);
        await fillPoint(page);
        await page.locator("#mm_across").fill("46");
        await page.locator("#mm_up").fill("-50.3");
        // The ring stands where the numbers say; a tap on its middle gives the numbers again.
        await page.locator(".tap-here").first().scrollIntoViewIfNeeded();
        const ring = await page.locator(".tap-here").first().boundingBox();
        await page.locator("#mm_across").fill("");
        await page.mouse.click(ring.x + ring.width / 2, ring.y + ring.height / 2);
        const [across, up] = [Number(await page.locator("#mm_across").inputValue()), Number(await page.locator("#mm_up").inputValue())];
        ensure(Math.abs(across - 46) < 1 && Math.abs(up + 50.3) < 1, `the tap gave ${across} and ${up}`);
        ensure((await page.locator("#tap-told").textContent()).includes(String(across)), "the place is not told");
        await page.locator(".tap-face").screenshot({ path: new URL("shots/practice-tap.png", import.meta.url).pathname });
        calm();
        await close();
        const plain = await watchedPage(browser, address, { javaScriptEnabled: false });
        await enter(plain.page);
        await plain.page.goto(`${address}practice/own/points/new`);
        await fillPoint(plain.page);
        await plain.page.locator("#mm_across").fill("46");
        await plain.page.locator("#mm_up").fill("-50.3");
        await plain.page.locator("main button.go").click();
        ensure(await plain.page.getByRole("link", { name: "Rest of the cheek" }).isVisible(), "it was not kept without script");
        plain.calm();
        await plain.close();
      });
    },
  },
  {
    name: "practice: clients from a pasted table, one of them erased, a backup from a file; axe-core on each page",
    async run({ browser }) {
      for (const [width, height] of [[1440, 900], [360, 740]]) {
        await inPractice(async ({ address, enter }) => {
          const { page, close } = await watchedPage(browser, address, { viewport: { width, height } });
          await enter(page);
          const seen = async (name) => {
            await ensureNoSideways(page, `${name} at ${width} px`);
            await shot(page, `practice-${name}-${width}-light`);
            await ensureAccessible(page, `${name} at ${width} px`);
          };
          await page.goto(`${address}practice/import`);
          await page.locator("#pasted").fill("name,born,email\nBo Example,1980,bo@example.org\n,1970,nobody@example.org\nCleo Example,soon,cleo@example.org");
          await page.locator("main button.go").click();
          await page.getByText("Nothing is kept yet.").waitFor();
          await seen("import-look");
          await page.locator("main button.go").click();
          await page.getByText("Clients are here").waitFor();
          ensure((await page.locator("#mend").inputValue()).includes("nobody@example.org"), "the row to mend is not handed back");
          await seen("import-done");
          await page.goto(`${address}clients`);
          await page.getByRole("link", { name: /Bo Example/ }).first().click();
          await page.getByRole("link", { name: "Erase this person" }).click();
          await page.getByLabel(/To erase, type/).fill("Bo");
          await page.getByRole("button", { name: "Erase this person" }).click();
          await page.getByRole("alert").waitFor();
          await seen("erase-one");
          await page.getByLabel(/To erase, type/).fill("Bo Example");
          await page.getByRole("button", { name: "Erase this person" }).click();
          await page.getByText("It is gone.").waitFor();
          await page.goto(`${address}practice/backups`);
          await page.getByRole("button", { name: "Make one in the practice's folder" }).click();
          const coming = page.waitForEvent("download");
          await page.getByRole("button", { name: "Make one and take it along" }).click();
          const file = await (await coming).path();
          await page.locator(".backups summary").first().click();
          await seen("backups-open");
          await page.getByRole("button", { name: "Lock" }).click();
          await page.goto(`${address}begin/restore`);
          await seen("begin-restore");
          await page.getByLabel("From a file, chosen below").check();
          await page.getByLabel(/^Passphrase/).fill(passphrase);
          await page.locator("#file").setInputFiles(file);
          await page.locator("main button.go").click();
          await page.getByText("every page of it holds").waitFor();
          await close();
        });
      }
    },
  },
];
