// The first minute: from nothing to a routine, by mouse, by keyboard alone, and without script.

import { ensure, ensureNoSideways, shot, watchedPage } from "./house.mjs";
import { answerAll, choose, groups, make, makeHalt, makeRoutine } from "./steps.mjs";

export default [
  {
    name: "by mouse: a concern, minutes, five questions, a routine on the drawn face",
    async run({ browser, address }) {
      const { page, requests, calm, close } = await watchedPage(browser, address);
      await page.goto(address);
      ensure((await page.title()).length > 0, "the page has no title");
      await choose(page, /jaw/i, "8");
      await answerAll(page);
      const begun = Date.now();
      await make(page);
      const took = Date.now() - begun;
      ensure(took < 3000, `the routine took ${took} ms`);
      ensure((await page.locator("h1").count()) === 1, "the routine has not one h1");
      const movements = await page.locator("section.movement h2").allInnerTexts();
      ensure(movements.length >= 3, `movements: ${movements.join(", ")}`);
      ensure((await page.locator("li.step").count()) >= 5, "there are fewer than five steps");
      const drawings = page.locator(".sheet svg");
      ensure((await drawings.count()) >= 1, "there is no drawing");
      ensure(await drawings.first().isVisible(), "the drawing is not to be seen");
      const posted = requests.filter((r) => r.method === "POST");
      ensure(posted.length === 1 && !posted[0].url.includes("?"), "the answers stand in an address");
      ensure(!page.url().includes("?"), `answers in the address: ${page.url()}`);
      ensure(await page.getByText(/no clinician/i).first().isVisible(), "it does not say that no clinician has reviewed it");
      calm();
      await close();
    },
  },
  {
    name: "the routine's steps, read from the page, lie within the minutes and name their reasons",
    async run({ browser, address }) {
      const { page, calm, close } = await watchedPage(browser, address);
      await makeRoutine(page, address, { minutes: "5" });
      const rows = await page.locator("#run-steps > li").evaluateAll((items) =>
        items.map((i) => ({ seconds: Number(i.dataset.seconds), change: Number(i.dataset.change) })));
      const total = rows.reduce((sum, r) => sum + r.seconds + r.change, 0);
      ensure(rows.length >= 5 && total > 0 && total <= 300, `${rows.length} steps, ${total} s in 300 s`);
      const reasons = await page.locator("li.step details ul").evaluateAll((lists) => lists.map((l) => l.children.length));
      ensure(reasons.length > 0 && reasons.every((n) => n > 0), "a step has no reason");
      calm();
      await close();
    },
  },
  {
    name: "a form that is not complete says what is missing and keeps what was said",
    async run({ browser, address }) {
      const { page, calm, close } = await watchedPage(browser, address);
      await page.goto(address);
      await choose(page, /jaw/i, "12");
      await groups(page).first().locator(":scope > .answers").getByRole("radio", { name: /^no$/i }).check();
      await page.locator("#ask button[type=submit]").click();
      const missing = page.getByRole("alert");
      await missing.waitFor();
      ensure((await missing.getByRole("link").count()) === 4, "not each of the four open questions is named");
      ensure(await page.getByRole("checkbox", { name: /jaw/i }).first().isChecked(), "the concern was forgotten");
      ensure(await page.getByRole("radio", { name: "12", exact: true }).isChecked(), "the minutes were forgotten");
      await missing.getByRole("link").first().click();
      const id = decodeURIComponent(new URL(page.url()).hash.slice(1));
      ensure(await page.locator(`[id="${id}"]`).isVisible(), "the link leads to nothing");
      calm();
      await close();
    },
  },
  {
    name: "a yes opens that group's own questions, and only those",
    async run({ browser, address }) {
      const { page, calm, close } = await watchedPage(browser, address);
      await page.goto(address);
      const own = groups(page).locator(":scope > .own");
      for (let i = 0; i < 5; i += 1) ensure(!(await own.nth(i).isVisible()), "own questions stand open before any answer");
      await groups(page).nth(1).locator(":scope > .answers").getByRole("radio", { name: /^yes$/i }).check();
      for (let i = 0; i < 5; i += 1) ensure((await own.nth(i).isVisible()) === (i === 1), `group ${i + 1} is wrongly open or shut`);
      calm();
      await close();
    },
  },
  {
    name: "a warning sign today: no routine, what to do, whom to ask",
    async run({ browser, address }) {
      const { page, calm, close } = await watchedPage(browser, address);
      await makeHalt(page, address);
      ensure((await page.locator("li.step").count()) === 0, "there are steps all the same");
      ensure(!(await page.locator("#start-run").isVisible()), "it can be run all the same");
      ensure(await page.locator("section.halt .sign-action").first().isVisible(), "it does not say what to do");
      calm();
      await close();
    },
  },
  {
    name: "by keyboard alone, with the focus to be seen at every stop",
    async run({ browser, address }) {
      const { page, calm, close } = await watchedPage(browser, address);
      await page.goto(address);
      const at = () => page.evaluate(() => {
        const e = document.activeElement;
        const box = e.getBoundingClientRect();
        // A hidden input shows its focus on its label or on the text beside it.
        const seen = [e, e.nextElementSibling, e.closest("label")].filter(Boolean).some((x) => {
          const s = getComputedStyle(x);
          return (s.outlineStyle !== "none" && parseFloat(s.outlineWidth) >= 2) || s.boxShadow !== "none";
        });
        return { tag: e.tagName, type: e.type ?? "", id: e.id, name: e.name ?? "", value: e.value ?? "", seen, top: box.top,
          bottom: box.bottom, height: innerHeight };
      });
      const unseen = [];
      let stops = 0;
      const tabTo = async (wanted, what) => {
        for (let i = 0; i < 120; i += 1) {
          await page.keyboard.press("Tab");
          const now = await at();
          stops += 1;
          if (!now.seen && now.tag !== "BODY") unseen.push(now.id || now.tag);
          if (wanted(now)) {
            ensure(now.bottom > 0 && now.top < now.height, `${what} has the focus out of sight`);
            return now;
          }
        }
        throw new Error(`Tab never reaches ${what}`);
      };
      await page.keyboard.press("Tab");
      ensure((await at()).tag === "A", "the first stop is no skip link");
      await page.keyboard.press("Enter");
      await tabTo((n) => n.name === "concern" && /jaw/.test(n.value), "the jaw");
      await page.keyboard.press("Space");
      await tabTo((n) => n.name === "minutes", "the minutes");
      await page.keyboard.press("ArrowRight");
      const names = await groups(page).evaluateAll((all) => all.map((g) => g.querySelector("input[type=radio]").name));
      for (const name of names) {
        await tabTo((n) => n.name === name, name);
        await page.keyboard.press("Space");
        ensure(await page.locator(`input[name="${name}"][value=no]`).isChecked(), `${name} is not answered no`);
      }
      await tabTo((n) => n.tag === "BUTTON" && n.type === "submit", "the button that makes the routine");
      await page.keyboard.press("Enter");
      await page.locator("li.step").first().waitFor();
      await tabTo((n) => n.id === "minutes", "the slider");
      const before = await page.locator("#summary").innerText();
      await page.keyboard.press("ArrowRight");
      await page.waitForFunction((old) => document.querySelector("#summary")?.innerText !== old, before);
      await tabTo((n) => n.id === "start-run", "the button that starts the run-through");
      await page.keyboard.press("Enter");
      await page.locator("dialog#run[open]").waitFor();
      if (await page.locator("#run-begin").isVisible()) {
        const inside = await page.evaluate(() => document.querySelector("#run").contains(document.activeElement));
        ensure(inside, "the focus is not in the run-through");
        await tabTo((n) => n.id === "run-begin", "the button that begins").catch(async () => page.locator("#run-begin").focus());
        await page.keyboard.press("Enter");
      }
      await page.locator("#run-seconds").waitFor();
      await page.keyboard.press("Escape");
      await page.locator("dialog#run").waitFor({ state: "hidden" });
      ensure((await at()).id === "start-run", "after leaving, the focus is not back where it was");
      ensure(unseen.length === 0, `the focus can't be seen on: ${[...new Set(unseen)].join(", ")} (${stops} stops)`);
      calm();
      await close();
    },
  },
  {
    name: "without script: the whole routine, illustrated, and other minutes",
    async run({ browser, address }) {
      const { page, calm, close } = await watchedPage(browser, address, { javaScriptEnabled: false });
      await makeRoutine(page, address, { minutes: "8" });
      ensure(await page.locator(".sheet svg").first().isVisible(), "there is no drawing");
      for (const id of ["#start-run", "#print"]) {
        ensure(!(await page.locator(id).isVisible()), `${id} is there and can do nothing`);
      }
      const steps = await page.locator("li.step").count();
      ensure(await page.locator("#redraw").isVisible(), "there is no button that draws it again");
      await page.locator("#minutes").fill("4");
      await page.locator("#redraw").click();
      await page.locator("li.step").first().waitFor();
      ensure((await page.locator("#minutes").inputValue()) === "4", "the minutes were forgotten");
      ensure((await page.locator("li.step").count()) < steps, "half the minutes have as many steps");
      await page.locator("li.step details summary").first().click();
      ensure(await page.locator("li.step details ul").first().isVisible(), "the reasons don't open");
      await ensureNoSideways(page, "the routine without script");
      await shot(page, "routine-without-script");
      calm();
      await close();
    },
  },
  {
    name: "the slider draws the routine again, and the curve marks the minutes",
    async run({ browser, address }) {
      const { page, requests, calm, close } = await watchedPage(browser, address);
      await makeRoutine(page, address, { minutes: "12" });
      const look = () => page.evaluate(() => ({
        summary: document.querySelector("#summary").innerText,
        steps: document.querySelectorAll("#run-steps > li").length,
        drawing: document.querySelector(".sheet svg").outerHTML.length,
        curve: document.querySelector("section.gain svg")?.outerHTML ?? "",
      }));
      const before = await look();
      await page.locator("#minutes").fill("4");
      await page.locator("#minutes").dispatchEvent("change");
      await page.waitForFunction((old) => document.querySelector("#summary")?.innerText !== old, before.summary);
      const after = await look();
      ensure(after.steps < before.steps, `${after.steps} steps in 4 minutes, ${before.steps} in 12`);
      ensure(after.drawing !== before.drawing, "the drawing stayed as it was");
      ensure(before.curve !== "" && after.curve !== before.curve, "the curve does not mark the minutes");
      ensure(await page.locator("#minutes-now").innerText() === "4", "the minutes beside the slider are old");
      ensure(requests.every((r) => !r.url.includes("group")), "answers stand in an address");
      calm();
      await close();
    },
  },
];
