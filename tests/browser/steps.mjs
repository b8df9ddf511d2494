// What a person does on the pages, step by step, by what they can see: roles, labels and headings.

import { ensure } from "./house.mjs";

/** Ticks what the routine is for. */
export async function choose(page, concern = /jaw/i, minutes = "8") {
  await page.getByRole("group", { name: /what/i }).first().getByRole("checkbox", { name: concern }).first().check();
  if (minutes) await page.getByRole("radio", { name: minutes, exact: true }).first().check();
}

/** The five grouped questions, in order. */
export function groups(page) {
  return page.locator("fieldset.group");
}

/** Answers each of the five questions alike. */
export async function answerAll(page, word = /^no$/i) {
  const all = groups(page);
  const count = await all.count();
  ensure(count === 5, `there are ${count} grouped questions, not five`);
  for (let i = 0; i < count; i += 1) {
    await all.nth(i).locator(":scope > .answers").getByRole("radio", { name: word }).check();
  }
}

/** Sends the form and waits for the next page. */
export async function make(page) {
  await Promise.all([page.waitForLoadState("load"), page.locator("#ask button[type=submit]").first().click()]);
  await page.locator("#part").waitFor();
}

/** From the start to a routine with every question answered no. */
export async function makeRoutine(page, address, { concern, minutes } = {}) {
  await page.goto(address);
  await choose(page, concern, minutes);
  await answerAll(page);
  await make(page);
  await page.locator("li.step").first().waitFor();
}

/** From the start to the page that says stop: a warning sign is there today. */
export async function makeHalt(page, address, sign) {
  await page.goto(address);
  await choose(page);
  await answerAll(page);
  await page.locator("details.signs > summary").click();
  const rows = page.locator("details.signs .sign");
  await (sign ? rows.filter({ hasText: sign }) : rows).first().getByRole("checkbox").first().check();
  await make(page);
  await page.locator("section.halt").waitFor();
}

/** Opens the run-through and gets past the list of what to do before. */
export async function begin(page) {
  await page.locator("#start-run").click();
  await page.locator("dialog#run[open]").waitFor();
  const start = page.locator("#run-begin");
  if (await start.isVisible()) await start.click();
  await page.locator("#run-seconds").waitFor();
}

export async function secondsShown(page) {
  const text = (await page.locator("#run-seconds").innerText()).trim();
  const [, minutes, seconds] = text.match(/^(?:(\d+):)?(\d+)/) ?? [];
  ensure(seconds !== undefined, `the countdown shows ${JSON.stringify(text)}`);
  return Number(minutes ?? 0) * 60 + Number(seconds);
}

/** Waits until the work of the present step has begun: before it lies the change to it. */
export function working(page) {
  return page.waitForFunction(() => {
    const shown = document.querySelector("#run-seconds");
    return shown.innerText.trim() !== "" && !shown.classList.contains("waiting");
  });
}
