// Texts and what they claim: checked as one types, from a finding to its place and back by keyboard alone, kept, without script; own countries.

import { ensure, ensureAccessible, ensureNoSideways, shot, startDesk, watchedPage } from "./house.mjs";

const WIDTHS = [[1440, 900], [820, 1180], [360, 740]];
const text = "A routine for a tight jaw. This massage removes wrinkles and lifts the cheeks.\n\nIt cures migraine 🙂. Stop if it hurts.";
const captions = "WEBVTT\n\n00:05.000 --> 00:08.000\nThis stroke removes\n\n00:08.000 --> 00:10.000\nwrinkles.\n";

async function inPractice(browser, options, work) {
  const desk = await startDesk(["--today", "2026-03-01"], { unlocked: true });
  try {
    const watched = await watchedPage(browser, desk.address, options);
    await watched.page.goto(desk.printed);
    await work(watched.page, (at) => watched.page.goto(new URL(at, desk.address).href), watched);
    watched.calm();
    await watched.close();
  } finally {
    await desk.stop();
  }
}

/** What is to be seen of the text's marked places, without what is only read out. */
const marked = (page) =>
  page.locator(".marked").evaluate((e) => {
    const copy = e.cloneNode(true);
    copy.querySelectorAll(".unseen").forEach((u) => u.remove());
    return copy.textContent;
  });

async function byMouse({ browser }) {
  await inPractice(browser, {}, async (page, go) => {
    await go("/publish");
    await page.getByRole("link", { name: "Check a text" }).click();
    await page.getByLabel("The text", { exact: true }).fill(text);
    await page.locator(".finding").first().waitFor();
    ensure((await marked(page)) === text, "the marked text is not the text");
    ensure((await page.locator("#text-told").textContent()).startsWith("Statements found: "), "nothing is told");
    // Typing on mends it: what is found follows, and the keyboard stays in the field.
    await page.getByLabel("The text", { exact: true }).fill("A routine for a tight jaw.");
    await page.getByText("That is no clearance").waitFor();
    ensure(await page.evaluate(() => document.activeElement.id === "body"), "the keyboard left the field");
    await page.getByLabel("The text", { exact: true }).fill(text);
    await page.locator(".finding").first().waitFor();
    // With no country nothing is held against it, and the words stay.
    for (const name of ["United States", "European Union", "United Kingdom"]) await page.getByLabel(name).uncheck();
    await page.getByText("No country is ticked").waitFor();
    await page.getByLabel("United Kingdom").check();
    await page.locator(".finding").first().waitFor();
    ensure(!(await page.locator(".finding").allTextContents()).some((t) => t.includes("United States")), "a country that is not ticked");
    await page.getByLabel("What you call it in your list").fill("Evening film");
    await page.getByRole("button", { name: "Keep it" }).click();
    await page.getByText("Kept, with what was found.").waitFor();
    await page.getByRole("link", { name: "Publish", exact: true }).first().click();
    await page.getByRole("link", { name: /Evening film/ }).waitFor();
    ensure((await page.locator(".go").count()) === 1, "more than one blue action");
  });
}

/** A safer wording goes into the text at once, replaces its sentence and nothing else, and can be taken back. */
async function taken({ browser }) {
  await inPractice(browser, {}, async (page, go) => {
    await go("/publish/texts/new");
    const body = "🙂 Zoë begins. This massage removes wrinkles. It cures migraine.\nStop if it hurts.";
    await page.locator("#body").fill(body);
    const finding = page.locator(".finding", { hasText: "removes wrinkles" }).first();
    await finding.waitFor();
    const instead = await finding.locator(".instead q").first().textContent();
    await finding.getByRole("button", { name: /Take it into the text/ }).first().click();
    await page.waitForFunction(() => !document.getElementById("body").value.includes("removes wrinkles"));
    const now = await page.locator("#body").inputValue();
    ensure(now === body.replace("This massage removes wrinkles.", instead), `something else was changed: ${now}`);
    await page.waitForFunction(() => document.activeElement.classList.contains("finding"));
    ensure(!(await page.locator(".claimed").allTextContents()).some((t) => t.includes("removes wrinkles")), "it is still found");
    await page.locator("#body").focus();
    await page.keyboard.press("Control+z");
    ensure((await page.locator("#body").inputValue()) === body, "it can't be taken back");
  });
}

async function byKeyboard({ browser }) {
  await inPractice(browser, {}, async (page, go) => {
    await go("/publish/texts/new");
    await page.locator("#body").focus();
    await page.keyboard.insertText(text);
    await page.locator(".finding").first().waitFor();
    // To the first place of the text, from there to its finding, and back.
    await page.locator(".marked a.place").first().focus();
    await page.keyboard.press("Enter");
    await page.waitForFunction(() => document.activeElement.id === "found-1");
    await page.keyboard.press("Tab");
    await page.keyboard.press("Enter");
    await page.waitForFunction(() => document.activeElement.id === "found-place-1");
    const outline = await page.evaluate(() => getComputedStyle(document.activeElement).outlineStyle);
    ensure(outline === "solid", `the place that holds the keyboard is not to be seen: ${outline}`);
    // Checked and kept without a mouse.
    await page.getByRole("button", { name: "Check it" }).focus();
    await page.keyboard.press("Enter");
    await page.keyboard.press("Tab");
    await page.keyboard.press("Enter");
    await page.getByText("Kept, with what was found.").waitFor();
  });
}

async function withoutScript({ browser }) {
  await inPractice(browser, { javaScriptEnabled: false }, async (page, go) => {
    await go("/publish/texts/new");
    await page.getByLabel("The text", { exact: true }).fill(text);
    await page.getByRole("button", { name: "Check it" }).click();
    await page.locator(".finding").first().waitFor();
    ensure((await page.locator("#body").inputValue()) === text, "the text is lost");
    await page.getByRole("button", { name: /Take it into the text/ }).first().click();
    await page.getByText("The safer wording stands in the text now").waitFor();
    const mended = await page.locator("#body").inputValue();
    ensure(mended !== text && mended.endsWith("\n\nIt cures migraine 🙂. Stop if it hurts."), `more was changed: ${mended}`);
    ensure((await page.locator("#found-1 .to-place").getAttribute("href")) === "#found-place-1", "no way to the place");
    // A caption file comes in by its own button, with everything else that was typed.
    await page.getByLabel("What you call it in your list").fill("Mine");
    await page.getByLabel("The text", { exact: true }).fill("");
    await page.locator("#file").setInputFiles({ name: "evening.vtt", mimeType: "text/vtt", buffer: Buffer.from(captions) });
    await page.getByRole("button", { name: "Bring it" }).click();
    await page.getByText("The words of evening.vtt stand here now").waitFor();
    ensure((await page.locator("#body").inputValue()) === captions, "the file is another");
    ensure((await page.locator("#title").inputValue()) === "Mine", "what was typed is lost");
    ensure((await page.locator("#found-1").textContent()).includes("0:05"), "no time");
    await page.getByRole("button", { name: "Keep it" }).click();
    await page.getByText("Kept, with what was found.").waitFor();
    await ensureNoSideways(page, "a kept text without script");
  });
}

async function aFile({ browser }) {
  await inPractice(browser, {}, async (page, go) => {
    await go("/publish/texts/new");
    await page.locator("#file").setInputFiles({ name: "evening.vtt", mimeType: "text/vtt", buffer: Buffer.from(captions) });
    await page.getByText("The words of evening.vtt stand here now").waitFor();
    ensure((await page.locator("#kind").inputValue()) === "captions", "it is not taken for captions");
    await page.locator(".finding").first().waitFor();
  });
}

async function ownCountry({ browser }) {
  await inPractice(browser, {}, async (page, go) => {
    await go("/publish/texts/new");
    await page.getByLabel("The text", { exact: true }).fill("It lifts the cheeks. It glimmers the chin.");
    await page.getByRole("button", { name: "Keep it" }).click();
    await page.getByText("Kept, with what was found.").waitFor();
    await go("/publish/countries");
    await page.getByRole("link", { name: "Add a country" }).click();
    await page.getByLabel("The country's name").fill("Freedonia");
    await page.getByLabel("A short code for it").fill("fd");
    await page.getByText("Says that the body changes", { exact: true }).click();
    const row = page.locator("fieldset", { has: page.locator("legend", { hasText: /^Lift$/ }) });
    await row.getByLabel("What is to be done").selectOption("needs_disclosure");
    await row.getByLabel("Why, in a sentence").fill("Law 7 wants it.");
    await row.getByLabel("Where it stands").fill("Law 7");
    const words = page.locator("fieldset", { has: page.locator("legend", { hasText: "Words 1" }) });
    await words.getByLabel("When a text says").fill("glimmers the chin");
    await words.getByLabel("it is a statement about").selectOption("body.lift");
    await words.getByLabel("Where you have it from").fill("A letter");
    await page.getByRole("button", { name: "Keep it" }).click();
    await page.getByRole("link", { name: /Freedonia/ }).waitFor();
    for (const [width, height] of [WIDTHS[0], WIDTHS[2]]) {
      await page.setViewportSize({ width, height });
      await go("/publish/countries/1");
      await page.getByText("The same as a file").waitFor();
      await ensureNoSideways(page, `a country at ${width}`);
      await ensureAccessible(page, `a country at ${width}`);
      await shot(page, `texts-country-${width}`);
    }
    await go("/publish");
    await page.getByText("The rules have changed since this was checked").waitFor();
    await page.getByText("“glimmers the chin”: needs a trial in United Kingdom. That is new.").waitFor();
    await shot(page, "texts-news-360");
    await page.getByRole("link", { name: /It lifts the cheeks/ }).click();
    await page.getByRole("button", { name: "I have looked at it" }).click();
    await page.getByText("The rules have changed").waitFor({ state: "detached" });
  });
}

/** Every page at every width: nothing sideways, nothing that axe-core finds, by day and by night. */
async function everyWidth({ browser }) {
  for (const colorScheme of ["light", "dark"]) {
    await inPractice(browser, { colorScheme }, async (page, go) => {
      await go("/publish/texts/new");
      await page.getByLabel("The text", { exact: true }).fill(`${text}\n\nMy client Ana says her wrinkles were gone after two weeks.`);
      await page.locator(".consent-note").waitFor();
      await page.getByRole("button", { name: "Keep it" }).click();
      await page.getByText("Kept, with what was found.").waitFor();
      const pages = { list: "/publish", new: "/publish/texts/new", text: "/publish/texts/1", gone: "/publish/texts/1/gone", countries: "/publish/countries", rules: "/publish/rules" };
      for (const [width, height] of colorScheme === "light" ? WIDTHS : WIDTHS.slice(2)) {
        await page.setViewportSize({ width, height });
        for (const [name, at] of Object.entries(pages).filter(([name]) => colorScheme === "light" || ["list", "text", "rules"].includes(name))) {
          await go(at);
          await page.evaluate(() => document.fonts.ready);
          await ensureNoSideways(page, `${name} at ${width}, ${colorScheme}`);
          await ensureAccessible(page, `${name} at ${width}, ${colorScheme}`);
          await shot(page, `texts-${name}-${width}${colorScheme === "dark" ? "-night" : ""}`);
          if (width > 360 || colorScheme === "dark") continue;
          await page.setViewportSize({ width: 320, height: 640 });
          await ensureNoSideways(page, `${name} at 320`);
          await page.setViewportSize({ width, height });
        }
      }
    });
  }
}

export default [
  { name: "texts: checked as one types, mended, kept", run: byMouse },
  { name: "texts: a safer wording is taken into the text", run: taken },
  { name: "texts: by keyboard alone, from a finding to its place and back", run: byKeyboard },
  { name: "texts: without script", run: withoutScript },
  { name: "texts: a file is brought", run: aFile },
  { name: "texts: a country of one's own changes what is found", run: ownCountry },
  { name: "texts: every page at every width, by day and by night", run: everyWidth },
];
