// The run-through: large type, a countdown that can be held, and the way out.

import { ensure, ensureNoSideways, shot, watchedPage } from "./house.mjs";
import { begin, makeRoutine, secondsShown } from "./steps.mjs";

const pause = (ms) => new Promise((done) => setTimeout(done, ms));

export default [
  {
    name: "it counts down, is held by space, and goes on",
    async run({ browser, address }) {
      const { page, calm, close } = await watchedPage(browser, address);
      await makeRoutine(page, address);
      await begin(page);
      const first = await secondsShown(page);
      ensure(first > 0 && first <= 120, `it begins at ${first}`);
      await pause(2300);
      const second = await secondsShown(page);
      ensure(second < first && second >= first - 4, `after 2.3 s it shows ${second}, before ${first}`);
      await page.keyboard.press("Space");
      await pause(150);
      const held = await secondsShown(page);
      await pause(1600);
      ensure((await secondsShown(page)) === held, "space does not hold it");
      await page.keyboard.press("Space");
      await pause(1600);
      ensure((await secondsShown(page)) < held, "it does not go on");
      calm();
      await close();
    },
  },
  {
    name: "arrows and a foot pedal's page keys go to the next step and back",
    async run({ browser, address }) {
      const { page, calm, close } = await watchedPage(browser, address);
      await makeRoutine(page, address);
      await begin(page);
      await page.keyboard.press("Space");
      const now = () => page.evaluate(() => ["#run-movement", "#run-count", "#run-what"].map((s) => document.querySelector(s).innerText).join(" / "));
      const start = await now();
      await page.keyboard.press("ArrowRight");
      const next = await now();
      ensure(next !== start, "the right arrow does nothing");
      await page.keyboard.press("PageDown");
      const third = await now();
      ensure(third !== next, "page down does nothing");
      await page.keyboard.press("PageUp");
      ensure((await now()) === next, "page up does not go back");
      await page.keyboard.press("ArrowLeft");
      ensure((await now()) === start, `the left arrow does not go back: ${await now()}, not ${start}`);
      calm();
      await close();
    },
  },
  {
    name: "to the end: every step once, then what to do after",
    async run({ browser, address }) {
      const { page, calm, close } = await watchedPage(browser, address);
      await makeRoutine(page, address, { minutes: "5" });
      const steps = await page.locator("#run-steps > li").count();
      await begin(page);
      const seen = [];
      for (let i = 0; i < steps; i += 1) {
        seen.push(await page.locator("#run-count").innerText());
        await page.keyboard.press("ArrowRight");
      }
      ensure(new Set(seen).size === steps, `${new Set(seen).size} counts for ${steps} steps`);
      await page.locator("#run-after").waitFor();
      ensure((await page.locator("#run-after li").count()) > 0, "the list of what to do after is empty");
      await page.locator("#run-after [data-leave]").click();
      await page.locator("dialog#run").waitFor({ state: "hidden" });
      calm();
      await close();
    },
  },
  {
    name: "a warning sign ends it at once, the close included",
    async run({ browser, address }) {
      const { page, calm, close } = await watchedPage(browser, address);
      await makeRoutine(page, address);
      await begin(page);
      await page.locator("#run-sign").click();
      const pane = page.locator("#run-sign-pane");
      await pane.waitFor();
      ensure((await pane.locator("dt").count()) > 5, "the signs are not listed");
      ensure(!(await page.locator("#run-forward").isVisible()), "the next step can still be reached");
      const before = await page.locator("#run-count").textContent();
      await page.keyboard.press("ArrowRight");
      ensure((await page.locator("#run-count").textContent()) === before, "an arrow goes on after a warning sign");
      await shot(page, "run-warning-sign", false);
      await pane.getByRole("button").click();
      await page.locator("dialog#run").waitFor({ state: "hidden" });
      calm();
      await close();
    },
  },
  {
    name: "read from two metres: the step at 56 px or more, the seconds at 120 px or more, targets of 72 px",
    async run({ browser, address }) {
      for (const [width, height] of [[1440, 900], [820, 1180], [360, 740]]) {
        const { page, calm, close } = await watchedPage(browser, address, { viewport: { width, height } });
        await makeRoutine(page, address);
        await begin(page);
        const size = (id) => page.locator(id).evaluate((e) => parseFloat(getComputedStyle(e).fontSize));
        const [step, seconds] = [await size("#run-what"), await size("#run-seconds")];
        ensure(step >= 56, `at ${width} px the step has ${step} px`);
        ensure(seconds >= 120, `at ${width} px the seconds have ${seconds} px`);
        const buttons = await page.locator("#run button:visible").evaluateAll((all) =>
          all.filter((b) => !b.closest(".run-head")).map((b) => ({ id: b.id, height: b.getBoundingClientRect().height, bottom: b.getBoundingClientRect().bottom })));
        const low = buttons.filter((b) => b.height < 72);
        ensure(buttons.length >= 3 && low.length === 0, `at ${width} px too low: ${low.map((b) => `${b.id} ${b.height}`).join(", ")}`);
        const out = buttons.filter((b) => b.bottom > height + 1);
        ensure(out.length === 0, `at ${width}x${height} out of sight: ${out.map((b) => b.id).join(", ")}`);
        await ensureNoSideways(page, `the run-through at ${width} px`);
        await page.keyboard.press("Space");
        await shot(page, `run-${width}`, false);
        calm();
        await close();
      }
    },
  },
];
