// The desk started on a free port, a real browser, and the watch that every page is under.

import { spawn } from "node:child_process";
import { mkdtemp, mkdir, rm, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import path from "node:path";
import { fileURLToPath } from "node:url";
import axe from "axe-core";
import { chromium } from "playwright-core";

const here = path.dirname(fileURLToPath(import.meta.url));
const root = path.resolve(here, "../..");
const target = process.env.CARGO_TARGET_DIR ?? path.join(root, "target");
export const binary = process.env.TRAGION_BIN ?? path.join(target, "release/tragion");
export const shots = path.join(here, "shots");

export function ensure(condition, message) {
  if (!condition) throw new Error(message);
}

/** The passphrase of the tests' practices. */
export const passphrase = "horse lamp river seven";

/**
 * Starts the desk on a folder of its own; answers its address (the origin with a slash), what was printed, and a way to end it.
 * `unlocked`: with a practice whose passphrase comes from a file, so that the printed address lets in.
 */
export async function startDesk(args = [], { unlocked = false, folder } = {}) {
  const place = folder ?? (await mkdtemp(path.join(tmpdir(), "tragion-desk-")));
  const env = { ...process.env };
  if (unlocked) {
    env.TRAGION_PASSPHRASE_FILE = path.join(place, "passphrase.txt");
    await writeFile(env.TRAGION_PASSPHRASE_FILE, `${passphrase}\n`);
  }
  const cabinet = ["--cabinet", path.join(place, "cabinet")];
  const child = spawn(binary, ["desk", "--no-open", "--port", "0", ...cabinet, ...args], { stdio: ["ignore", "pipe", "pipe"], env });
  let said = "";
  const printed = await new Promise((resolve, reject) => {
    const late = setTimeout(() => reject(new Error(`the desk gave no address within 10 s: ${said}`)), 10000);
    const look = (chunk) => {
      said += chunk;
      const found = said.match(/http:\/\/127\.0\.0\.1:\d+\/\S*\n/);
      if (found) {
        clearTimeout(late);
        resolve(found[0].trim());
      }
    };
    child.stdout.on("data", look);
    child.stderr.on("data", (chunk) => (said += chunk));
    child.on("error", reject);
    child.on("exit", (code) => reject(new Error(`the desk ended with ${code}: ${said}`)));
  });
  const stop = async () => {
    const ended = new Promise((resolve) => child.once("exit", resolve));
    child.kill("SIGTERM");
    await ended;
    if (!folder) await rm(place, { recursive: true, force: true });
  };
  return { address: `${new URL(printed).origin}/`, printed, folder: place, stop, said: () => said };
}

/** A browser with a profile of its own, quiet toward the outside. */
export async function startBrowser(more = []) {
  const profile = await mkdtemp(path.join(tmpdir(), "tragion-browser-"));
  await mkdir(shots, { recursive: true });
  const browser = await chromium.launch({
    executablePath: process.env.CHROMIUM ?? "/usr/bin/chromium",
    headless: true,
    args: [
      "--no-sandbox",
      "--disable-gpu",
      "--disable-quic",
      "--no-first-run",
      "--disable-background-networking",
      "--disable-component-update",
      "--disable-sync",
      "--force-color-profile=srgb",
      `--crash-dumps-dir=${profile}`,
      ...more,
    ],
  });
  const stop = async () => {
    await browser.close();
    await rm(profile, { recursive: true, force: true });
  };
  return { browser, stop };
}

/** A page under watch: what it asks for, what it complains of, what its policy stops. */
export async function watchedPage(browser, address, options = {}) {
  const context = await browser.newContext({
    viewport: { width: 1440, height: 900 },
    locale: "en-GB",
    reducedMotion: "reduce",
    ...options,
  });
  context.setDefaultTimeout(8000);
  const page = await context.newPage();
  const wrong = [];
  const requests = [];
  const origin = new URL(address).origin;
  page.on("request", (request) => {
    const url = request.url();
    requests.push({ url, method: request.method() });
    if (!url.startsWith(`${origin}/`) && !url.startsWith("data:") && !url.startsWith("blob:")) {
      wrong.push(`a request leaves the desk: ${url}`);
    }
  });
  page.on("console", (message) => {
    if (["error", "warning"].includes(message.type())) wrong.push(`console ${message.type()}: ${message.text()}`);
  });
  page.on("pageerror", (error) => wrong.push(`script error: ${error.message}`));
  page.on("response", (response) => {
    if (response.status() >= 400) wrong.push(`${response.status()} for ${response.url()}`);
  });
  page.on("requestfailed", (request) => {
    // The page was left while it was still loading: nobody's fault.
    if (request.failure()?.errorText !== "net::ERR_ABORTED") wrong.push(`failed: ${request.url()} ${request.failure()?.errorText}`);
  });
  if (options.javaScriptEnabled !== false) {
    await page.addInitScript(() => {
      document.addEventListener("securitypolicyviolation", (event) => {
        console.error(`policy ${event.violatedDirective} stopped ${event.blockedURI}`);
      });
    });
  }
  return {
    page,
    requests,
    calm: () => ensure(wrong.length === 0, `the page was not calm: ${[...new Set(wrong)].join("; ")}`),
    close: () => context.close(),
  };
}

/** What axe-core finds, all its rules on, as text; the page's own policy does not reach it. */
export async function axeFindings(page) {
  await page.evaluate(axe.source);
  const found = await page.evaluate(() => globalThis.axe.run(document, { resultTypes: ["violations"] }));
  return found.violations.map(
    (v) => `${v.id} (${v.impact}): ${v.help}: ${v.nodes.slice(0, 3).map((n) => n.target.join(" ")).join(" | ")}`,
  );
}

export async function ensureAccessible(page, what) {
  const found = await axeFindings(page);
  ensure(found.length === 0, `axe-core on ${what}: ${found.join("; ")}`);
}

export async function ensureNoSideways(page, what) {
  const { scroll, width } = await page.evaluate(() => ({
    scroll: document.scrollingElement.scrollWidth,
    width: document.documentElement.clientWidth,
  }));
  ensure(scroll <= width, `${what} scrolls sideways: ${scroll} px in ${width} px`);
}

export function shot(page, name, fullPage = true) {
  return page.screenshot({ path: path.join(shots, `${name}.png`), fullPage });
}
