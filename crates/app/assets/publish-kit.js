// A film: copying, the script read page by page, and tapping along to the finished film. Without it every text can be selected, the script
// scrolls, and times are typed.
"use strict";

(() => {
  // ---- copying ----------------------------------------------------------------------------------------------------
  for (const button of document.querySelectorAll("button[data-copy]")) {
    const field = document.getElementById(button.dataset.copy);
    const label = button.textContent;
    button.hidden = false;
    button.addEventListener("click", async () => {
      field.select();
      try {
        await navigator.clipboard.writeText(field.value);
      } catch {
        // Where the clipboard is closed the words stay selected, for the hand to copy.
        return;
      }
      button.textContent = button.dataset.done;
      setTimeout(() => (button.textContent = label), 2000);
    });
    // A screen reader hears that it is done.
    button.setAttribute("aria-live", "polite");
  }

  // ---- the script, large ------------------------------------------------------------------------------------------
  const reading = document.querySelector(".reading");
  if (reading) {
    const lines = reading.querySelector(".reading-lines");
    const acts = [...reading.querySelectorAll(".reading-act")];
    reading.querySelector(".reading-foot").hidden = false;
    // The first part whose end can still be seen is the one that is read.
    const top = () => lines.getBoundingClientRect().top;
    const here = () => Math.max(0, acts.findIndex((act) => act.getBoundingClientRect().bottom > top() + 8));
    const show = (act) => {
      lines.scrollTop += act.getBoundingClientRect().top - top();
      act.focus({ preventScroll: true });
    };
    const turn = (by) => {
      const now = acts[here()];
      const room = lines.clientHeight;
      const rest = now.getBoundingClientRect();
      // A part that is longer than the screen is read to its end first.
      if (by > 0 && rest.bottom > top() + room + 8) lines.scrollTop += Math.round(room * 0.8);
      else if (by < 0 && rest.top < top() - 8) lines.scrollTop -= Math.min(Math.round(room * 0.8), top() - rest.top);
      else {
        const next = acts[here() + by];
        if (next) show(next);
      }
    };
    reading.querySelector("[data-read=next]").addEventListener("click", () => turn(1));
    reading.querySelector("[data-read=back]").addEventListener("click", () => turn(-1));
    addEventListener("keydown", (event) => {
      if (event.ctrlKey || event.altKey || event.metaKey || event.target.closest("a, button")) return;
      const by = { " ": event.shiftKey ? -1 : 1, PageDown: 1, ArrowRight: 1, PageUp: -1, ArrowLeft: -1 }[event.key];
      if (!by) return;
      event.preventDefault();
      turn(by);
    });
  }

  // ---- tapping along ----------------------------------------------------------------------------------------------
  const form = document.getElementById("tap");
  if (!form) return;
  const part = (name) => form.querySelector(`[data-tap=${name}]`);
  const rows = [...form.querySelectorAll("[data-tap=row]")];
  const field = (row) => row.querySelector("input");
  const name = (row) => row.querySelector("label span").textContent;
  const film = part("film");
  const length = document.getElementById("length");
  const words = form.dataset;
  let played = false; // whether there is a film; else a stopwatch
  let begun = null; // the stopwatch: when it was started, in ms
  let before = 0; // what it had counted before
  let taps = []; // the rows in the order of their taps
  let wiped = null; // what stood in the fields before they were emptied, until the next tap

  part("along").hidden = false;

  const now = () => (played ? film.currentTime : (before + (begun === null ? 0 : performance.now() - begun)) / 1000);
  const runs = () => (played ? !film.paused : begun !== null);
  const written = (seconds) => {
    const tenths = Math.round(seconds * 10);
    const tenth = tenths % 10;
    return `${Math.floor(tenths / 600)}:${String(Math.floor(tenths / 10) % 60).padStart(2, "0")}${tenth ? `.${tenth}` : ""}`;
  };
  const clock = (seconds) => `${Math.floor(seconds / 60)}:${String(Math.floor(seconds) % 60).padStart(2, "0")}`;
  // What follows the last one that has a time: a gap that was left is filled in by the plan.
  const next = () => {
    const last = rows.findLastIndex((row) => field(row).value.trim() !== "");
    return rows[last + 1];
  };
  const tell = (said) => (part("told").textContent = said);

  const show = () => {
    const row = next();
    for (const other of rows) other.toggleAttribute("aria-current", false);
    if (row) row.setAttribute("aria-current", "step");
    part("next").textContent = row ? name(row) : words.none;
    part("now").disabled = !row;
    part("undo").disabled = taps.length === 0 && wiped === null;
    part("run").textContent = runs() ? words.pause : now() > 0 ? words.on : words.begin;
    part("run").hidden = played;
    // Where the panel stays in sight; elsewhere the button to tap would be scrolled away.
    if (row && taps.length && matchMedia("(min-width: 60rem)").matches) row.scrollIntoView({ block: "nearest" });
  };

  const tap = () => {
    const row = next();
    if (!row) return;
    // The first tap starts the stopwatch as well: its film begins with the first step.
    if (!played && begun === null && before === 0 && taps.length === 0) begun = performance.now();
    const at = written(now());
    taps.push(row);
    wiped = null;
    field(row).value = at;
    const left = rows.length - rows.indexOf(row) - 1;
    const said = words.taken.replace("{name}", name(row)).replace("{at}", at);
    tell(`${said}. ${left ? words.left.replace("{n}", left) : words.all}`);
    show();
    if (!left) part("keep").focus();
  };

  const undo = () => {
    if (wiped) {
      rows.forEach((row, i) => (field(row).value = wiped[i]));
      wiped = null;
      tell(words.restored);
      show();
      return;
    }
    const row = taps.pop();
    if (!row) return;
    field(row).value = "";
    tell(words.undone.replace("{name}", name(row)));
    show();
  };

  const run = () => {
    if (begun === null) begun = performance.now();
    else {
      before += performance.now() - begun;
      begun = null;
    }
    show();
  };

  part("now").addEventListener("click", tap);
  part("undo").addEventListener("click", undo);
  part("run").addEventListener("click", run);
  part("again").addEventListener("click", () => {
    wiped = rows.map((row) => field(row).value);
    for (const row of rows) field(row).value = "";
    taps = [];
    before = 0;
    begun = null;
    if (played) film.currentTime = 0;
    part("clock").textContent = clock(0);
    show();
  });
  for (const row of rows) field(row).addEventListener("input", show);

  // ---- the film, from the disk into the page and nowhere else ----
  let address = null;
  part("file").addEventListener("change", () => {
    const file = part("file").files[0];
    if (address) URL.revokeObjectURL(address);
    address = null;
    part("unplayable").hidden = true;
    played = Boolean(file);
    film.hidden = !file;
    if (file) {
      address = URL.createObjectURL(file);
      film.src = address;
    } else {
      film.removeAttribute("src");
    }
    show();
  });
  film.addEventListener("error", () => {
    if (!address) return;
    played = false;
    film.hidden = true;
    part("unplayable").hidden = false;
    show();
  });
  film.addEventListener("loadedmetadata", () => {
    // A recording without its length at the beginning says "endless".
    if (Number.isFinite(film.duration) && film.duration > 0) length.value = written(film.duration);
  });
  for (const kind of ["play", "pause", "seeked"]) film.addEventListener(kind, show);

  addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.altKey || event.metaKey || event.repeat) return;
    const typed = event.target.closest("input, textarea, select, a, summary");
    if (event.key === " " && !typed) {
      // On the other buttons space presses them.
      const button = event.target.closest("button");
      if (button && button !== part("now")) return;
      event.preventDefault();
      tap();
    } else if (event.key === "Backspace" && !typed) {
      event.preventDefault();
      undo();
    }
  });
  // A pressed space would press the large button once more when it is let go.
  addEventListener("keyup", (event) => {
    if (event.key === " " && event.target === part("now")) event.preventDefault();
  });

  setInterval(() => {
    if (runs()) part("clock").textContent = clock(now());
  }, 200);
  show();
})();
