// The product check: a list is pasted, what it comes to is read; with and without script, wide and narrow.

import { ensure, ensureAccessible, ensureNoSideways, shot, startDesk, watchedPage } from "./house.mjs";

const list =
  "Ingredients: Aqua/Water, Prunus Amygdalus Dulcis (Sweet Almond) Oil*, Glycerin, Melaleuca Alternifolia (Tea Tree) Leaf Oil (2 %), " +
  "Lavandula Angustifolia Oil, Parfum (Limonene, Linalool), Tocopherol.\n* from organic farming";

async function check({ browser }, options, name) {
  const desk = await startDesk(["--today", "2026-03-01"], { unlocked: true });
  try {
    const watched = await watchedPage(browser, desk.address, options);
    const { page } = watched;
    await page.goto(desk.printed);
    await page.goto(`${desk.address}product`);
    await page.getByLabel("The ingredient list").fill(list);
    await page.getByRole("button", { name: "Read the list" }).click();
    await page.getByText("Leave this product out.").waitFor();
    ensure((await page.locator("button.go").count()) === 1, "more than one blue action");
    ensure((await page.locator("#list").inputValue()) === list, "the list is lost");
    await ensureNoSideways(page, name);
    if (options.javaScriptEnabled !== false) await ensureAccessible(page, name);
    await shot(page, name);
    watched.calm();
    await watched.close();
  } finally {
    await desk.stop();
  }
}

export default [
  { name: "product: a list is read, wide", run: (at) => check(at, {}, "product-1440") },
  { name: "product: a list is read, narrow", run: (at) => check(at, { viewport: { width: 360, height: 800 } }, "product-360") },
  { name: "product: a list is read without script", run: (at) => check(at, { javaScriptEnabled: false }, "product-plain") },
];
