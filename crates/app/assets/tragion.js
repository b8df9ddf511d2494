// The desk's script: redraws while the slider moves, links list and drawing, and runs the routine step by step.
// Nothing here is needed to read a routine.
"use strict";

(() => {
  const one = (id) => document.getElementById(id);
  const calm = matchMedia("(prefers-reduced-motion: reduce)").matches;

  // ---- the slider -------------------------------------------------------------------------------------------------
  const form = one("ask");
  const slider = one("minutes");
  let waiting = 0;
  let asking = null;

  async function redraw() {
    asking?.abort();
    asking = new AbortController();
    document.body.classList.add("busy");
    const told = one("told");
    try {
      const body = new URLSearchParams(new FormData(form));
      const answer = await fetch(form.action, { method: "POST", body, headers: { "x-part": "1" }, signal: asking.signal });
      const text = await answer.text();
      if (!answer.ok || text.trimStart().toLowerCase().startsWith("<!doctype")) {
        form.submit();
        return;
      }
      const fresh = document.createElement("template");
      fresh.innerHTML = text;
      for (const id of ["head", "gain", "part"]) {
        const old = one(id);
        const now = fresh.content.getElementById(id);
        if (old && now) old.replaceChildren(...now.childNodes);
      }
      arm();
      told.textContent = one("summary")?.textContent ?? one("halt")?.textContent ?? "";
      const title = document.querySelector("h1");
      if (title) document.title = `${title.textContent} · Tragion`;
    } catch (error) {
      if (error.name === "AbortError") return;
      form.submit();
    }
    document.body.classList.remove("busy");
  }

  if (slider && form) {
    one("redraw").hidden = true;
    slider.addEventListener("input", () => {
      one("minutes-now").value = slider.value;
      clearTimeout(waiting);
      waiting = setTimeout(redraw, 160);
    });
  }

  // ---- list and drawing -------------------------------------------------------------------------------------------
  function link() {
    const sheet = document.querySelector(".work .sk-sheet");
    if (!sheet) return;
    const marks = (n) => sheet.querySelectorAll(`.sk-step[data-step~="${n}"]`);
    const rows = [...document.querySelectorAll(".step[data-steps]")];
    const light = (numbers, on) => {
      sheet.classList.toggle("sk-dim", on);
      for (const n of numbers) for (const mark of marks(n)) mark.classList.toggle("sk-lit", on);
      for (const row of rows) {
        const here = row.dataset.steps.split(" ").some((n) => numbers.includes(n));
        row.classList.toggle("lit", on && here);
      }
    };
    for (const row of rows) {
      const numbers = row.dataset.steps.split(" ");
      row.addEventListener("pointerenter", () => light(numbers, true));
      row.addEventListener("pointerleave", () => light(numbers, false));
      row.addEventListener("focusin", () => light(numbers, true));
      row.addEventListener("focusout", () => light(numbers, false));
    }
    for (const mark of sheet.querySelectorAll(".sk-step[data-step]")) {
      const numbers = mark.dataset.step.split(" ");
      mark.addEventListener("pointerenter", () => light(numbers, true));
      mark.addEventListener("pointerleave", () => light(numbers, false));
    }
  }

  // ---- paper ------------------------------------------------------------------------------------------------------
  const opened = [];
  addEventListener("beforeprint", () => {
    for (const part of document.querySelectorAll("details.checks, .warnings details")) {
      if (!part.open) { part.open = true; opened.push(part); }
    }
  });
  addEventListener("afterprint", () => { for (const part of opened.splice(0)) part.open = false; });

  // ---- step by step -----------------------------------------------------------------------------------------------
  const sound = (() => {
    let context = null;
    const tone = (hertz, after, length, loud) => {
      if (!context) return;
      const at = context.currentTime + after;
      const wave = context.createOscillator();
      const swell = context.createGain();
      wave.frequency.value = hertz;
      swell.gain.setValueAtTime(0.0001, at);
      swell.gain.exponentialRampToValueAtTime(loud, at + 0.04);
      swell.gain.exponentialRampToValueAtTime(0.0001, at + length);
      wave.connect(swell).connect(context.destination);
      wave.start(at);
      wave.stop(at + length + 0.05);
    };
    return {
      // Sound may only begin with a touch of the person.
      wake() { try { context ??= new AudioContext(); context.resume?.(); } catch { context = null; } },
      begin() { tone(396, 0, 1.4, 0.09); tone(594, 0.16, 1.6, 0.06); },
      end() { tone(330, 0, 1.2, 0.07); },
      done() { tone(396, 0, 1.6, 0.08); tone(495, 0.25, 1.8, 0.06); tone(594, 0.5, 2.4, 0.05); },
    };
  })();

  const voice = (() => {
    const speaks = window.speechSynthesis;
    // Only voices of this machine: others would send the words away.
    const local = () => (speaks?.getVoices() ?? []).filter((v) => v.localService && v.lang.toLowerCase().startsWith("en"));
    return {
      there: () => local().length > 0,
      whenKnown(tell) { speaks?.addEventListener?.("voiceschanged", tell); },
      say(words) {
        const own = local()[0];
        if (!own || !words) return;
        speaks.cancel();
        const said = new SpeechSynthesisUtterance(words);
        said.voice = own;
        said.lang = own.lang;
        said.rate = 0.92;
        speaks.speak(said);
      },
      hush() { speaks?.cancel(); },
    };
  })();

  function armRun() {
    const dialog = one("run");
    const start = one("start-run");
    if (!dialog?.showModal || !start) return;
    start.hidden = false;

    const data = [...one("run-steps").children].map((li) => ({ ...li.dataset, seconds: +li.dataset.seconds, change: +li.dataset.change }));
    const words = one("run-steps").dataset;
    const stage = dialog.querySelector(".sk-stage");
    const whole = stage?.getAttribute("viewBox");
    const panes = [...dialog.querySelectorAll(".run-pane")];
    const skipped = new Set();
    let at = 0;
    let phase = "idle"; // idle, change, work, over
    let left = 0;
    let paused = true;
    let last = 0;
    let ticking = 0;
    let lock = null;

    const speaking = () => one("run-voice").checked;
    const named = (step) => (step.side ? `${step.place}, ${step.side}` : step.place);

    function show(pane) {
      for (const other of panes) other.hidden = other !== pane;
      // What lies under a pane must not be reached with the keyboard.
      for (const part of dialog.querySelectorAll(":scope > .run-head, :scope > .run-body, :scope > .run-foot")) part.inert = Boolean(pane);
      // A long pane is read from its top; its button has the focus all the same.
      pane?.querySelector("button")?.focus({ preventScroll: true });
      if (pane) pane.scrollTop = 0;
    }

    async function keepAwake(on) {
      try {
        if (on && navigator.wakeLock) lock = await navigator.wakeLock.request("screen");
        else { await lock?.release(); lock = null; }
      } catch { lock = null; }
    }

    function draw() {
      const step = data[at];
      one("run-movement").textContent = step.movement;
      one("run-count").textContent = words.of.replace("{n}", at + 1).replace("{all}", data.length);
      const what = one("run-what");
      what.replaceChildren(step.does);
      const where = document.createElement("span");
      where.className = "where";
      where.textContent = named(step);
      what.append(" ", where);
      one("run-how").textContent = phase === "change" ? step.changeSay || words.ready : step.how;
      one("run-caution").textContent = step.caution;
      const next = data[following(at)];
      one("run-next").textContent = next ? `${next.does}, ${named(next)}` : words.last;
      one("run-seconds").textContent = Math.ceil(left);
      one("run-seconds").classList.toggle("waiting", phase === "change");
      const pause = one("run-pause");
      pause.textContent = paused ? pause.dataset.on : pause.dataset.pause;
      const gone = data.slice(0, at).reduce((sum, s) => sum + s.seconds, 0) + (phase === "work" ? step.seconds - left : 0);
      one("run-progress").value = gone / data.reduce((sum, s) => sum + s.seconds, 0);
      drawStage(next);
      fit();
    }

    // A long text on a small screen grows smaller, and the drawing gives way, before anything is cut off.
    function fit() {
      if (!dialog.open) return;
      const body = one("run-now-area");
      const text = body.querySelector(".run-now");
      const sheet = one("run-sheet");
      const room = () => body.clientHeight - [...text.children].reduce((sum, c) => sum + c.offsetHeight, 0)
        - (text.children.length - 1) * parseFloat(getComputedStyle(text).rowGap || 0) - 14;
      let scale = 1;
      do {
        dialog.style.setProperty("--fit", scale);
        scale -= 0.04;
      } while (scale > 0.3 && room() < 0);
      const tall = matchMedia("(orientation: portrait)").matches;
      sheet.classList.toggle("no-room", tall && room() < 90);
    }

    function drawStage(next) {
      if (!stage) return;
      for (const mark of stage.querySelectorAll(".sk-step")) {
        const n = +mark.dataset.step;
        mark.classList.toggle("sk-now", n === at + 1);
        mark.classList.toggle("sk-next", Boolean(next) && n === following(at) + 1 && !calm);
      }
      const now = stage.querySelector(".sk-now");
      stage.dataset.shows = now?.dataset.frame ?? "front";
      stage.setAttribute("viewBox", now?.dataset.box ?? whole);
      closeUp(now);
      dial();
    }

    // Where there is little room a whole head would be too small to read: then only the part that is worked is shown.
    function closeUp(now) {
      const { clientWidth: wide, clientHeight: high } = stage;
      if (!now || high < 1 || high > 260) return;
      const mark = now.getBBox();
      const [, , whole] = stage.getAttribute("viewBox").split(" ").map(Number);
      const width = Math.min(whole, Math.max(mark.width * 1.3, mark.height * 1.5 * wide / high, whole * 0.45));
      const height = width * high / wide;
      const x = mark.x + mark.width / 2 - width / 2;
      const y = mark.y + mark.height / 2 - height / 2;
      stage.setAttribute("viewBox", `${x} ${y} ${width} ${height}`);
    }

    // A hold fills with ink as its seconds pass.
    function dial() {
      for (const round of stage?.querySelectorAll(".sk-now [data-round]") ?? []) {
        const share = phase === "work" && data[at].seconds > 0 ? 1 - left / data[at].seconds : 0;
        const length = +round.dataset.round;
        round.setAttribute("stroke-dasharray", `${share * length} ${length}`);
      }
    }

    const following = (i) => { let n = i + 1; while (n < data.length && skipped.has(data[n].target)) n += 1; return n; };
    const preceding = (i) => { let n = i - 1; while (n > 0 && skipped.has(data[n].target)) n -= 1; return Math.max(n, 0); };

    function enter(i) {
      if (i >= data.length) { finish(); return; }
      at = i;
      phase = "change";
      // The first step, too, begins with a breath.
      left = Math.max(data[i].change, i === 0 ? 4 : 0);
      if (speaking()) voice.say(`${data[i].changeSay} ${data[i].say}`);
      if (left <= 0) begin(); else draw();
    }

    function begin() {
      phase = "work";
      left = data[at].seconds;
      sound.begin();
      draw();
    }

    function tick() {
      const now = performance.now();
      const passed = (now - last) / 1000;
      last = now;
      if (paused || (phase !== "change" && phase !== "work")) return;
      left -= passed;
      if (left > 0) {
        one("run-seconds").textContent = Math.ceil(left);
        if (phase === "work") dial();
        return;
      }
      if (phase === "change") { begin(); return; }
      sound.end();
      enter(following(at));
    }

    function pause(on) {
      paused = on;
      if (on) voice.hush();
      draw();
    }

    function finish() {
      phase = "over";
      paused = true;
      sound.done();
      keepAwake(false);
      show(one("run-after"));
    }

    function halt(pane) {
      paused = true;
      voice.hush();
      show(pane);
    }

    function leave() {
      phase = "idle";
      paused = true;
      clearInterval(ticking);
      voice.hush();
      keepAwake(false);
      if (dialog.open) dialog.close();
      start.focus();
    }

    const go = (i) => { if (phase === "change" || phase === "work") enter(i); };
    const forward = () => go(following(at));
    const back = () => go(preceding(at));

    start.addEventListener("click", () => {
      skipped.clear();
      at = 0;
      phase = "idle";
      paused = true;
      const tellVoice = () => {
        const there = voice.there();
        one("run-voice").disabled = !there;
        if (!there) one("run-voice").checked = false;
        one("run-no-voice").hidden = there;
      };
      tellVoice();
      voice.whenKnown(() => { one("run-voice").checked = voice.there(); tellVoice(); });
      draw();
      dialog.showModal();
      show(one("run-before"));
    });
    one("run-begin").addEventListener("click", () => {
      sound.wake();
      keepAwake(true);
      show(null);
      last = performance.now();
      clearInterval(ticking);
      ticking = setInterval(tick, 100);
      paused = false;
      enter(0);
      one("run-pause").focus();
    });
    one("run-pause").addEventListener("click", () => pause(!paused));
    one("run-forward").addEventListener("click", forward);
    one("run-back").addEventListener("click", back);
    one("run-leave").addEventListener("click", leave);
    for (const button of dialog.querySelectorAll("[data-leave]")) button.addEventListener("click", leave);
    one("run-hurts").addEventListener("click", () => {
      // Without its opening nothing further out may be worked.
      const way = data[at].part === "open";
      one("run-hurts-on").hidden = way;
      one("run-hurts-way").hidden = !way;
      halt(one("run-hurts-pane"));
    });
    one("run-hurts-on").addEventListener("click", () => {
      skipped.add(data[at].target);
      show(null);
      paused = false;
      last = performance.now();
      one("run-pause").focus();
      go(following(at));
    });
    one("run-sign").addEventListener("click", () => {
      phase = "over";
      keepAwake(false);
      halt(one("run-sign-pane"));
    });
    one("run-now-area").addEventListener("click", forward);
    dialog.addEventListener("cancel", (event) => { event.preventDefault(); leave(); });
    dialog.addEventListener("keydown", (event) => {
      if (phase !== "change" && phase !== "work") return;
      if (panes.some((pane) => !pane.hidden)) return;
      const pressed = event.target.closest("button, input");
      switch (event.key) {
        case " ":
          // Space on a button presses that button.
          if (pressed) return;
          pause(!paused);
          break;
        case "ArrowRight": case "ArrowDown": case "PageDown": forward(); break;
        case "ArrowLeft": case "ArrowUp": case "PageUp": back(); break;
        default: return;
      }
      event.preventDefault();
    });
    addEventListener("resize", () => { if (dialog.open && (phase === "change" || phase === "work")) fit(); });
    document.addEventListener("visibilitychange", () => {
      if (document.visibilityState === "visible" && dialog.open && (phase === "change" || phase === "work")) keepAwake(true);
    });
  }

  function arm() {
    link();
    armRun();
    const print = one("print");
    if (print) {
      print.hidden = false;
      print.addEventListener("click", () => window.print());
    }
  }
  arm();
})();
