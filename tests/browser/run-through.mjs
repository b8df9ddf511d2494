// The run-through: large type, a countdown that can be held, and the way out.

import { ensure, ensureNoSideways, shot, watchedPage } from "./house.mjs";
import { begin, makeRoutine, secondsShown, working } from "./steps.mjs";

const pause = (ms) => new Promise((done) => setTimeout(done, ms));

export default [
  {
    name: "it counts down, is held by space, and goes on",
    async run({ browser, address }) {
      const { page, calm, close } = await watchedPage(browser, address);
      await makeRoutine(page, address);
      await begin(page);
      await working(page);
      const first = await secondsShown(page);
      ensure(first > 4 && first <= 120, `it begins at ${first}`);
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
      const reached = await page.locator("#run-forward").evaluate((button) => {
        const { left, top, width, height } = button.getBoundingClientRect();
        button.focus();
        const under = document.elementFromPoint(left + width / 2, top + height / 2);
        return document.activeElement === button || (under !== null && button.contains(under));
      });
      ensure(!reached, "the next step can still be reached");
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
    name: "where it hurts: the place is passed over, and an opening that hurts ends it",
    async run({ browser, address }) {
      const { page, calm, close } = await watchedPage(browser, address);
      await makeRoutine(page, address);
      await begin(page);
      await page.locator("#run-hurts").click();
      await page.locator("#run-hurts-pane").waitFor();
      ensure(!(await page.locator("#run-hurts-on").isVisible()), "work goes on beyond an opening that hurts");
      await page.locator("#run-hurts-pane [data-leave]").click();
      await page.locator("dialog#run").waitFor({ state: "hidden" });
      await begin(page);
      const steps = await page.locator("#run-steps > li").evaluateAll((all) => all.map((li) => ({ part: li.dataset.part, target: li.dataset.target })));
      const at = steps.findIndex((s) => s.part === "work");
      ensure(at > 0, `no step says it is work: ${JSON.stringify(steps[0])}`);
      for (let i = 0; i < at; i += 1) await page.keyboard.press("ArrowRight");
      await page.locator("#run-hurts").click();
      await page.locator("#run-hurts-on").click();
      const rest = steps.slice(at).findIndex((s) => s.target !== steps[at].target) + at;
      const count = await page.locator("#run-count").innerText();
      ensure(count.startsWith(`${rest + 1} `), `after passing over ${steps[at].target} it stands at ${count}, not at ${rest + 1}`);
      calm();
      await close();
    },
  },
  {
    name: "nothing lies over anything else, at any step and width",
    async run({ browser, address }) {
      const wrong = [];
      for (const [width, height] of [[1440, 900], [1024, 768], [820, 1180], [360, 740], [320, 640]]) {
        const { page, calm, close } = await watchedPage(browser, address, { viewport: { width, height } });
        await makeRoutine(page, address);
        await begin(page);
        await page.locator("#run-pause").click();
        const steps = await page.locator("#run-steps > li").count();
        const found = new Set();
        for (let i = 0; i < steps; i += 1) {
          const over = await page.evaluate(() => {
            const box = (s) => ({ what: s, ...document.querySelector(s).getBoundingClientRect().toJSON() });
            const parts = ["#run-leave", "#run-voice", "#run-what", "#run-how", ".run-seconds", "#run-caution", "#run-next", "#run-back", "#run-pause",
              "#run-sign", "#run-sheet svg"].filter((s) => document.querySelector(s)).map(box).filter((b) => b.width > 0 && b.height > 0);
            const hits = [];
            parts.forEach((a, n) => parts.slice(n + 1).forEach((b) => {
              const x = Math.min(a.right, b.right) - Math.max(a.left, b.left);
              const y = Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top);
              if (x > 2 && y > 2) hits.push(`${a.what} and ${b.what} by ${Math.round(y)} px`);
            }));
            return hits;
          });
          over.forEach((o) => found.add(o));
          if (i + 1 < steps) await page.keyboard.press("ArrowRight");
        }
        await shot(page, `run-last-${width}`, false);
        if (found.size > 0) wrong.push(`at ${width}x${height}: ${[...found].slice(0, 6).join("; ")}`);
        calm();
        await close();
      }
      ensure(wrong.length === 0, wrong.join("\n"));
    },
  },
  {
    name: "read from two metres: the step at 56 px or more and the seconds at 120 (a phone, held nearer: 36 and 96), targets of 72 px",
    async run({ browser, address }) {
      for (const [width, height] of [[1440, 900], [820, 1180], [360, 740]]) {
        const { page, calm, close } = await watchedPage(browser, address, { viewport: { width, height } });
        await makeRoutine(page, address);
        await begin(page);
        const size = (id) => page.locator(id).evaluate((e) => parseFloat(getComputedStyle(e).fontSize));
        const [step, seconds] = [await size("#run-what"), await size("#run-seconds")];
        const [least, most] = width < 600 ? [36, 96] : [56, 120];
        ensure(step >= least, `at ${width} px the step has ${step} px`);
        ensure(seconds >= most, `at ${width} px the seconds have ${seconds} px`);
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
