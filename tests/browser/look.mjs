// Every page at every width, by day and by night: seen whole, by eye (shots) and by axe-core.

import { ensure, ensureAccessible, ensureNoSideways, shot, watchedPage } from "./house.mjs";
import { begin, makeHalt, makeRoutine } from "./steps.mjs";

const WIDTHS = [[1440, 900], [820, 1180], [360, 740], [320, 640]];

const PAGES = {
  start: (page, address) => page.goto(address),
  routine: (page, address) => makeRoutine(page, address),
  halt: (page, address) => makeHalt(page, address),
  ask: async (page, address) => {
    await page.goto(address);
    await page.locator("#ask button[type=submit]").click();
    await page.getByRole("alert").waitFor();
  },
  run: async (page, address) => {
    await makeRoutine(page, address);
    await begin(page);
    await page.keyboard.press("Space");
  },
};

const cases = [];
for (const scheme of ["light", "dark"]) {
  for (const [name, open] of Object.entries(PAGES)) {
    cases.push({
      name: `${name}, ${scheme === "dark" ? "night" : "light"}: axe-core finds nothing, nothing scrolls sideways at any width`,
      async run({ browser, address }) {
        for (const [width, height] of WIDTHS) {
          const { page, calm, close } = await watchedPage(browser, address, { viewport: { width, height }, colorScheme: scheme });
          await open(page, address);
          await ensureNoSideways(page, `${name} at ${width} px`);
          await shot(page, `${name}-${width}-${scheme}`, name !== "run");
          await ensureAccessible(page, `${name} at ${width} px`);
          calm();
          await close();
        }
      },
    });
  }
}

cases.push({
  name: "with every detail and every own question open, axe-core still finds nothing",
  async run({ browser, address }) {
    const { page, calm, close } = await watchedPage(browser, address);
    await page.goto(address);
    await page.locator("fieldset.group").evaluateAll((all) =>
      all.forEach((g) => g.querySelector(":scope > .answers input[value=yes]").click()));
    await page.locator("fieldset.condition").evaluateAll((all) =>
      all.forEach((c) => c.querySelector(".answers input[value=yes]").click()));
    await page.locator("details").evaluateAll((all) => all.forEach((d) => (d.open = true)));
    await ensureAccessible(page, "the start with all open");
    await makeRoutine(page, address);
    await page.locator("details").evaluateAll((all) => all.forEach((d) => (d.open = true)));
    await ensureAccessible(page, "the routine with all open");
    await shot(page, "routine-all-open");
    calm();
    await close();
  },
});

cases.push({
  name: "night is dark and light is light",
  async run({ browser, address }) {
    const luminance = async (scheme) => {
      const { page, close } = await watchedPage(browser, address, { colorScheme: scheme });
      await page.goto(address);
      const [r, g, b] = await page.evaluate(() => {
        const seen = [document.body, document.documentElement].map((e) => getComputedStyle(e).backgroundColor);
        return (seen.find((c) => !/, 0\)$/.test(c)) ?? "rgb(255, 255, 255)").match(/[\d.]+/g).map(Number);
      });
      await close();
      return (0.2126 * r + 0.7152 * g + 0.0722 * b) / 255;
    };
    const [day, night] = [await luminance("light"), await luminance("dark")];
    ensure(day > 0.85 && night < 0.15, `the ground has ${day.toFixed(2)} by day and ${night.toFixed(2)} by night`);
  },
});

cases.push({
  name: "targets at the desk are 44 px high",
  async run({ browser, address }) {
    const { page, close } = await watchedPage(browser, address, { viewport: { width: 360, height: 740 } });
    await makeRoutine(page, address);
    const low = () => page.locator("label.choice:visible, button:visible, summary:visible, input[type=range]:visible, input[type=number]:visible").evaluateAll((all) =>
      all.map((e) => ({ what: `${e.tagName} ${e.id || e.htmlFor || e.innerText.slice(0, 20)}`, height: e.getBoundingClientRect().height }))
        .filter((e) => e.height < 43.5));
    for (const what of ["the routine", "the start"]) {
      const found = await low();
      ensure(found.length === 0, `on ${what} too low: ${found.slice(0, 6).map((f) => `${f.what} ${f.height}`).join(", ")}`);
      await page.goto(address);
    }
    await close();
  },
});

cases.push({
  name: "text twice as large: nothing is cut off sideways",
  async run({ browser, address }) {
    const { page, close } = await watchedPage(browser, address, { viewport: { width: 720, height: 900 }, deviceScaleFactor: 2 });
    await makeRoutine(page, address);
    await page.evaluate(() => document.documentElement.style.setProperty("font-size", "200%"));
    await ensureNoSideways(page, "the routine with large text");
    await close();
  },
});

cases.push({
  name: "on paper: the routine without controls, black on white",
  async run({ browser, address }) {
    const { page, close } = await watchedPage(browser, address, { colorScheme: "dark", viewport: { width: 794, height: 1123 } });
    await makeRoutine(page, address);
    await page.emulateMedia({ media: "print", colorScheme: "light" });
    for (const id of ["#start-run", "#print", "#minutes", "#redraw"]) {
      ensure(!(await page.locator(id).isVisible()), `${id} is printed`);
    }
    ensure(await page.locator(".sheet svg").first().isVisible(), "the drawing is not printed");
    ensure(await page.locator("li.step").first().isVisible(), "the steps are not printed");
    await shot(page, "print");
    await close();
  },
});

cases.push({
  name: "every answer carries a strict policy, and a stranger's host is refused",
  async run({ browser, address }) {
    const context = await browser.newContext();
    for (const where of ["", "assets/tragion.css", "assets/tragion.js", "nowhere"]) {
      const answer = await context.request.get(address + where);
      const policy = answer.headers()["content-security-policy"] ?? "";
      ensure(policy.includes("default-src 'none'") && !policy.includes("unsafe"), `${where}: policy ${policy}`);
    }
    const lost = await context.request.get(`${address}nowhere`);
    ensure(lost.status() === 404, `an unknown page answers ${lost.status()}`);
    const foreign = await context.request.get(address, { headers: { host: "evil.example" } });
    ensure(foreign.status() === 403, `a foreign host answers ${foreign.status()}`);
    const across = await context.request.post(`${address}routine`, { headers: { origin: "http://evil.example" }, form: { concern: "tight_jaw" } });
    ensure(across.status() === 403, `a form from elsewhere answers ${across.status()}`);
    await context.close();
  },
});

export default cases;
