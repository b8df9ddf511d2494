// The map's script: choosing a place at once, dropping a photograph, dragging handles. Without it the map can be read
// and a photograph be brought all the same; only correcting by hand needs it.
"use strict";

(() => {
  const map = document.getElementById("map");

  // ---- bringing a photograph ----------------------------------------------------------------------------------------
  const drop = document.getElementById("drop");
  if (drop) {
    const input = drop.querySelector("input");
    drop.querySelector(".dropping").hidden = false;
    let depth = 0;
    const over = (on) => drop.classList.toggle("over", on);
    drop.addEventListener("dragenter", (event) => { event.preventDefault(); depth += 1; over(true); });
    drop.addEventListener("dragover", (event) => event.preventDefault());
    drop.addEventListener("dragleave", () => { depth -= 1; if (depth <= 0) over(false); });
    drop.addEventListener("drop", (event) => {
      event.preventDefault();
      depth = 0;
      over(false);
      if (!event.dataTransfer.files.length) return;
      const one = new DataTransfer();
      one.items.add(event.dataTransfer.files[0]);
      input.files = one.files;
      input.form.querySelector("button").focus();
    });
    input.form.addEventListener("submit", () => {
      const busy = document.getElementById("bringing");
      busy.textContent = busy.dataset.busy;
    });
    // Coming back by the browser's own button, nothing is being looked for.
    addEventListener("pageshow", () => { document.getElementById("bringing").textContent = ""; });
  }

  // ---- paper --------------------------------------------------------------------------------------------------------
  const paper = document.getElementById("print-map");
  if (paper) {
    paper.hidden = false;
    paper.addEventListener("click", () => print());
  }

  if (!map) return;
  const told = document.getElementById("map-told");
  const face = () => document.getElementById("face");

  // ---- the page follows ---------------------------------------------------------------------------------------------
  let latest = 0;
  // The handle that had the focus when the page was last renewed.
  let focused = "";
  /** Asks for the part that changes and puts it in place; the picture itself stays, so that nothing flickers. */
  async function follow(address, options = {}) {
    const mine = (latest += 1);
    const token = document.querySelector("meta[name=token]")?.content ?? "";
    const answer = await fetch(address, { ...options, headers: { "x-part": "1", "x-token": token } });
    const text = await answer.text();
    if (mine !== latest) return false;
    if (!answer.ok || text.trimStart().toLowerCase().startsWith("<!doctype")) {
      location.assign(answer.url);
      return false;
    }
    const fresh = document.createElement("template");
    fresh.innerHTML = text;
    const [old, now] = [map.querySelector("image"), fresh.content.querySelector("image")];
    const same = old && now && old.getAttribute("href") === now.getAttribute("href");
    // Within the template the picture would belong to another document and be asked for again.
    if (same) now.removeAttribute("href");
    const rolled = map.querySelector(".drawn")?.scrollTop ?? 0;
    const open = [...map.querySelectorAll("details[open]")].map((d) => d.id);
    for (const part of fresh.content.querySelectorAll("details")) if (open.includes(part.id)) part.open = true;
    focused = document.activeElement?.dataset?.handle ?? "";
    map.replaceChildren(...fresh.content.childNodes);
    if (same) now.replaceWith(old);
    const drawn = map.querySelector(".drawn");
    if (drawn) {
      drawn.scrollTop = rolled;
      show(drawn, drawn.querySelector(".sk-place.sk-chosen .sk-ring"));
    }
    arm();
    return true;
  }

  /** Rolls the drawing to its chosen place, where that lies beyond its edge; the page itself stays. */
  function show(drawn, place) {
    if (!place) return;
    const [edge, box] = [drawn.getBoundingClientRect(), place.getBoundingClientRect()];
    if (box.top < edge.top || box.bottom > edge.bottom) drawn.scrollTop += box.top - edge.top - edge.height / 2;
  }

  const chosenWords = () => map.querySelector(".place-row.chosen .mm:not([hidden])")?.textContent ?? "";

  // ---- choosing a place ---------------------------------------------------------------------------------------------
  function pick(target, side, fromFace) {
    for (const row of map.querySelectorAll(".place-row")) {
      const here = row.dataset.place === target;
      row.classList.toggle("chosen", here);
      for (const mm of row.querySelectorAll(".mm")) mm.hidden = !(here && mm.dataset.side === side);
      for (const link of row.querySelectorAll("[data-pick]")) {
        if (here && link.dataset.side === side) link.setAttribute("aria-current", "true");
        else link.removeAttribute("aria-current");
      }
    }
    for (const place of map.querySelectorAll(".sk-place")) {
      place.classList.toggle("sk-chosen", place.dataset.target === target && place.dataset.side === side);
    }
    const link = [...map.querySelectorAll("[data-pick]")].find((a) => a.dataset.pick === target && a.dataset.side === side);
    if (!link) return;
    const address = link.href.split("#")[0];
    history.replaceState(null, "", address);
    const folded = link.closest("details");
    if (folded) folded.open = true;
    if (fromFace) link.closest(".place-row").scrollIntoView({ block: "nearest" });
    told.textContent = chosenWords();
    follow(address).then((done) => {
      if (!done || fromFace) return;
      [...map.querySelectorAll("[data-pick]")].find((a) => a.dataset.pick === target && a.dataset.side === side)?.focus({ preventScroll: true });
    });
  }

  // ---- handles ------------------------------------------------------------------------------------------------------
  const placeOf = (handle) => {
    const at = handle.transform.baseVal.consolidate().matrix;
    return [at.e, at.f];
  };
  const put = (handle, [x, y]) => handle.setAttribute("transform", `translate(${x.toFixed(2)} ${y.toFixed(2)})`);

  let sending = 0;
  /** Takes a handle's place to the program; what comes back is the map with everything following. */
  async function send(handle, stay) {
    clearTimeout(sending);
    sending = 0;
    const [x, y] = placeOf(handle);
    const name = handle.dataset.handle;
    const { address, query } = face().dataset;
    map.setAttribute("aria-busy", "true");
    const body = new URLSearchParams([[name, `${x.toFixed(2)},${y.toFixed(2)}`]]);
    const done = await follow(`${address}/hands${query}`, { method: "POST", body });
    map.removeAttribute("aria-busy");
    if (!done) return;
    const next = stay ? name : focused;
    if (next) map.querySelector(`.sk-handle[data-handle="${next}"]`)?.focus({ preventScroll: true });
    told.textContent = map.querySelector("[role=alert]")?.textContent ?? (chosenWords() || (document.getElementById("moved")?.textContent ?? ""));
  }

  const user = (svg, event) => new DOMPoint(event.clientX, event.clientY).matrixTransform(svg.getScreenCTM().inverse());

  /** Reaches of 44 px overlap around the eyes: the nearest handle is meant, not the topmost. */
  function nearest(svg, event) {
    const at = user(svg, event);
    const far = (handle) => {
      const [x, y] = placeOf(handle);
      return Math.hypot(x - at.x, y - at.y);
    };
    return [...svg.querySelectorAll(".sk-handle")].reduce((best, h) => (far(h) < far(best) ? h : best));
  }

  function drag(svg) {
    // A finger on a handle drags and does not scroll; `touch-action` does not reach into a drawing everywhere.
    svg.addEventListener("touchstart", (event) => {
      if (event.target.closest(".sk-handle")) event.preventDefault();
    }, { passive: false });
    svg.addEventListener("pointerdown", (event) => {
      if (event.button !== 0 || !event.isPrimary || !event.target.closest(".sk-handle")) return;
      const handle = nearest(svg, event);
      event.preventDefault();
      handle.focus({ preventScroll: true });
      handle.setPointerCapture(event.pointerId);
      handle.classList.add("sk-held");
      const [from, start] = [user(svg, event), placeOf(handle)];
      const move = (e) => {
        const to = user(svg, e);
        put(handle, [start[0] + to.x - from.x, start[1] + to.y - from.y]);
      };
      const end = (e) => {
        for (const [kind, what] of [["pointermove", move], ["pointerup", end], ["pointercancel", end]]) handle.removeEventListener(kind, what);
        handle.classList.remove("sk-held");
        if (e.type === "pointercancel") { put(handle, start); return; }
        const now = placeOf(handle);
        if (Math.hypot(now[0] - start[0], now[1] - start[1]) > 0.05) send(handle, true);
      };
      handle.addEventListener("pointermove", move);
      handle.addEventListener("pointerup", end);
      handle.addEventListener("pointercancel", end);
    });
  }

  function keys(handle) {
    handle.addEventListener("keydown", (event) => {
      const way = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[event.key];
      if (!way) return;
      event.preventDefault();
      const step = event.shiftKey ? 10 : 1;
      const [x, y] = placeOf(handle);
      put(handle, [x + way[0] * step, y + way[1] * step]);
      clearTimeout(sending);
      // A row of presses is one correction.
      sending = setTimeout(() => send(handle, true), 350);
    });
    // Whoever goes on at once loses nothing.
    handle.addEventListener("blur", () => { if (sending) send(handle, false); });
  }

  // ---- steps of a routine -------------------------------------------------------------------------------------------
  function link() {
    const drawing = face()?.querySelector(".sk");
    const rows = [...map.querySelectorAll(".step[data-steps]")];
    if (!drawing || !rows.length) return;
    const light = (numbers, on) => {
      drawing.classList.toggle("sk-dim", on);
      for (const n of numbers) for (const mark of drawing.querySelectorAll(`.sk-step[data-step~="${n}"]`)) mark.classList.toggle("sk-lit", on);
      for (const row of rows) row.classList.toggle("lit", on && numbers.includes(row.dataset.steps));
    };
    for (const [all, of] of [[rows, (e) => e.dataset.steps], [drawing.querySelectorAll(".sk-step[data-step]"), (e) => e.dataset.step]]) {
      for (const one of all) {
        one.addEventListener("pointerenter", () => light(of(one).split(" "), true));
        one.addEventListener("pointerleave", () => light(of(one).split(" "), false));
      }
    }
  }

  // ---- what is new on the page --------------------------------------------------------------------------------------
  function arm() {
    const kinds = map.querySelector(".kinds");
    if (kinds) {
      kinds.querySelector("button").hidden = true;
      kinds.addEventListener("change", async (event) => {
        const id = event.target.id;
        const address = `${kinds.getAttribute("action")}?${new URLSearchParams(new FormData(kinds))}`;
        history.replaceState(null, "", address);
        if (await follow(address)) document.getElementById(id)?.focus({ preventScroll: true });
      });
    }
    const handles = map.querySelectorAll(".sk-handle");
    if (handles.length) drag(handles[0].ownerSVGElement);
    handles.forEach(keys);
    link();
  }

  map.addEventListener("click", (event) => {
    if (event.ctrlKey || event.metaKey || event.shiftKey || event.button !== 0) return;
    const link = event.target.closest?.("[data-pick]");
    if (link) {
      event.preventDefault();
      pick(link.dataset.pick, link.dataset.side, false);
      return;
    }
    const place = event.target.closest?.(".sk-place");
    if (place) pick(place.dataset.target, place.dataset.side, true);
  });

  arm();
})();
