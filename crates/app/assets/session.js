// The desk's session: every event goes to the cabinet, again and again until it is kept; the second screen follows.
// In the page's own storage stands a number of milliseconds alone.
"use strict";

(() => {
  const meta = (name) => document.querySelector(`meta[name=${name}]`)?.content;

  // ---- a second screen ----------------------------------------------------------------------------------------------
  const second = document.getElementById("screen");
  if (second) {
    const root = second.querySelector('[data-play="root"]');
    const wait = second.querySelector("[data-screen-wait]");
    const shown = Player.screen({ root });
    const channel = new BroadcastChannel(`tragion-session-${second.dataset.of}`);
    let last = null;
    const show = () => {
      if (!last) return;
      wait.hidden = last.phase !== "ready" && last.phase !== "over";
      shown.show(last);
    };
    channel.addEventListener("message", (message) => {
      if (!message.data?.state) return;
      last = message.data.state;
      root.dataset.light = message.data.light;
      show();
    });
    channel.postMessage({ ask: true });
    return;
  }

  const place = document.getElementById("session");
  if (!place) return;
  const root = place.querySelector('[data-play="root"]');
  const told = place.querySelector("[data-session-told]");
  const over = place.querySelector("[data-session-locked]");
  const seenKey = `tragion-seen-${place.dataset.session}`;
  let token = meta("token");
  const lockMs = Number(meta("locks-in") ?? 0) * 1000;

  // ---- what is kept -------------------------------------------------------------------------------------------------
  let latest = null; // what is to be sent: all events, the time, how it ended
  let sending = false;
  let unsent = false;
  let kept = performance.now(); // when the desk last took something
  let refused = false;

  function say(text) {
    told.textContent = text;
    told.hidden = text === "";
  }

  /** After the desk was started anew, or locked and unlocked: this page's own address says who we are now. */
  async function known() {
    const page = await fetch(location.pathname, { cache: "no-store" });
    if (page.redirected && new URL(page.url).pathname === "/unlock") return "locked";
    if (!page.ok) return "gone";
    const fresh = new DOMParser().parseFromString(await page.text(), "text/html").querySelector("meta[name=token]")?.content;
    if (!fresh) return "gone";
    const same = fresh === token;
    token = fresh;
    return same ? "refused" : "again";
  }

  function lock(on) {
    if (on === !over.hidden) return;
    over.hidden = !on;
    root.inert = on;
    player.cover(on ? over : null);
    if (on) over.querySelector("a, button")?.focus();
  }

  async function send(leaving = false) {
    if (!latest || refused || (sending && !leaving)) return;
    sending = true;
    const body = latest;
    let again = false;
    try {
      const answer = await fetch(`${place.dataset.at}/events`, {
        method: "POST",
        headers: { "x-token": token, "content-type": "application/json" },
        body: JSON.stringify(body),
        keepalive: leaving,
      });
      if (answer.ok) {
        if (latest === body) { latest = null; unsent = false; }
        kept = performance.now();
        say("");
        lock(false);
      } else if (answer.status === 409 || answer.status === 422) {
        // Sending the same again would be of no use; what comes after may be taken.
        refused = answer.status === 409;
        const { error } = await answer.json().catch(() => ({ error: "" }));
        say(place.dataset.refused.replace("{why}", error));
        if (latest === body) latest = null;
      } else {
        const who = await known();
        if (who === "locked") lock(true);
        else if (who === "again") again = true;
        else say(place.dataset.unsent);
      }
    } catch {
      unsent = true;
      say(place.dataset.unsent);
    }
    sending = false;
    if (again) await send();
  }

  function keep(events, seen, state, now) {
    latest = { events: [...events], seen, ended: state?.over ?? null };
    if (now) send();
  }

  // ---- the player ---------------------------------------------------------------------------------------------------
  const restore = JSON.parse(place.dataset.restore);
  // The page saw more than it could send.
  const own = Number(localStorage.getItem(seenKey) ?? 0);
  if (restore.events.length > 0 && own > restore.seen) restore.seen = own;

  const channel = typeof BroadcastChannel === "function" ? new BroadcastChannel(`tragion-session-${place.dataset.session}`) : null;
  const post = (state) => channel?.postMessage({ state: JSON.parse(JSON.stringify(state)), light: root.dataset.light });
  let beats = 0;
  let closeCamera = () => {};

  const player = Player.start({
    root,
    restore: restore.events.length > 0 ? restore : null,
    onEvent: (_, events, at, state) => keep(events, at, state, true),
    onSeen: (at, events, state) => {
      localStorage.setItem(seenKey, String(at));
      beats += 1;
      // While it runs each beat says that somebody is at work. A session that stands still lets the practice lock itself.
      if (!state.paused && beats % 4 === 0) keep(events, at, state, true);
      else if (latest && beats % 3 === 0) send();
    },
    onOver: (state, events, at) => {
      closeCamera();
      localStorage.removeItem(seenKey);
      keep(events, at, state, true);
    },
    onShow: post,
  });
  channel?.addEventListener("message", (message) => { if (message.data?.ask) post(player.state()); });

  // ---- the live face ------------------------------------------------------------------------------------------------
  const shelf = place.querySelector("[data-session-live]");
  if (shelf && globalThis.Live && navigator.mediaDevices?.getUserMedia) {
    const { steps, score } = Player.data(root);
    const figure = root.querySelector('[data-play="figure"]');
    const button = document.createElement("button");
    button.type = "button";
    button.className = "other";
    button.textContent = shelf.dataset.on;
    root.querySelector(".play-more").append(button);
    root.dataset.camera = "";
    let live = null;
    let view = null;
    const drawn = (i, pressure) => (i < 0 || steps[i].target === "oil" ? null
      : { target: steps[i].target, side: score.steps[i].side, mark: steps[i].mark, pressure, movement: score.steps[i].movement });
    const step = () => {
      const state = player.state();
      if (state.phase !== "change" && state.phase !== "hold") return null;
      const now = drawn(state.order[state.at], state.pressure);
      const next = Engine.following(score, state);
      const coming = next < 0 ? null : drawn(next, state.lighter[next]);
      return now && (coming ? { ...now, next: coming } : now);
    };
    const close = (why) => {
      live?.stop();
      live = null;
      view?.remove();
      view = null;
      delete root.dataset.live;
      button.textContent = shelf.dataset.on;
      if (why) say(shelf.dataset[why] ?? "");
    };
    button.addEventListener("click", async () => {
      if (live) { close(""); return; }
      button.disabled = true;
      view = shelf.content.firstElementChild.cloneNode(true);
      figure.append(view);
      const says = view.querySelector("p");
      says.textContent = shelf.dataset.wait;
      try {
        live = await Live.start({
          video: view.querySelector("video"),
          overlay: view.querySelector("svg"),
          mirror: root.dataset.view === "mirror",
          url: shelf.dataset.frame,
          end: shelf.dataset.end,
          token,
          step,
          closed: close,
          say(answer) {
            if (says.textContent !== answer.says) says.textContent = answer.says;
            // What no picture of a face can carry stands on the drawing.
            root.dataset.live = answer.why === "drawing" || (answer.seen && !step()) ? "drawing" : "face";
          },
        });
        root.dataset.live = "face";
        button.textContent = shelf.dataset.off;
      } catch (error) {
        close(["denied", "none"].includes(error.message) ? error.message : "none");
      }
      button.disabled = false;
    });
    closeCamera = () => close("");
  }

  // What was not taken yet is sent again, also when all is over.
  setInterval(() => { if (latest) send(); }, 3000);
  addEventListener("pagehide", () => { if (latest) send(true); });
  place.querySelector("[data-session-retry]").addEventListener("click", () => { latest ??= { events: player.events(), seen: player.at(), ended: player.state().over }; send(); });
  addEventListener("focus", () => { if (!over.hidden) { latest ??= { events: player.events(), seen: player.at(), ended: player.state().over }; send(); } });

  // ---- the lock -----------------------------------------------------------------------------------------------------
  // Nobody at work for the practice's time: it has locked itself, and nothing of a client stays on a screen that nobody looks at.
  if (lockMs > 0) {
    let touched = performance.now();
    let told = performance.now();
    const work = () => {
      touched = performance.now();
      if (touched - told < 30000 || !over.hidden) return;
      told = touched;
      fetch("/touch", { method: "POST", headers: { "x-token": token } }).then((answer) => { if (answer.ok) kept = performance.now(); }).catch(() => {});
    };
    for (const kind of ["keydown", "pointerdown"]) addEventListener(kind, work, { passive: true });
    setInterval(() => {
      if (performance.now() - Math.max(kept, touched) < lockMs + 4000 || !over.hidden) return;
      lock(true);
    }, 2000);
  }

  // The way on does not overtake what is still to be kept.
  root.addEventListener("click", (event) => {
    const link = event.target.closest("a[href]");
    if (!link || link.target || !latest) return;
    event.preventDefault();
    const from = performance.now();
    const go = () => { if (!latest || performance.now() - from > 8000) location.assign(link.href); else setTimeout(go, 150); };
    go();
  });
})();
