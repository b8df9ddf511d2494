// The player: shows a session that `Engine` runs, takes what is done by touch, key, pedal or elbow, speaks and chimes.
// One file for the desk and for the page at home. It stores nothing and asks for nothing: the page's hooks do.
//
//   Player.data(root)    what the page brought: score, steps, words, language
//   Player.start({ root, score, steps, words, language, restore, onEvent, onSeen, onOver, onShow })
//   Player.screen({ root, ... }).show(state)    a second screen that only shows
"use strict";

var Player = (() => {
  const calm = () => matchMedia("(prefers-reduced-motion: reduce)").matches;
  const fill = (text, values) => text.replace(/\{(\w+)\}/g, (whole, name) => (name in values ? values[name] : whole));

  function data(root) {
    const block = root.querySelector('[data-play="data"]');
    return block ? JSON.parse(block.textContent) : null;
  }

  function inWords(times, seconds) {
    const [m, s] = [Math.floor(seconds / 60), seconds % 60];
    if (m === 0) return s === 1 ? times.one_second : fill(times.seconds, { s });
    if (s === 0) return m === 1 ? times.one_minute : fill(times.minutes, { m });
    return fill(times.minutes_seconds, { m, s });
  }

  const clock = (ms) => {
    const s = Math.floor(ms / 1000);
    return `${Math.floor(s / 60)}:${String(s % 60).padStart(2, "0")}`;
  };

  // ---- sound --------------------------------------------------------------------------------------------------------
  function chimes() {
    let context = null;
    const tone = (hertz, after, length, loud) => {
      if (!context || context.state === "closed") return;
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
    const sounds = {
      begin: () => { tone(396, 0, 1.4, 0.09); tone(594, 0.16, 1.6, 0.06); },
      end: () => tone(330, 0, 1.2, 0.07),
      note: () => tone(495, 0, 0.7, 0.05),
      done: () => { tone(396, 0, 1.6, 0.08); tone(495, 0.25, 1.8, 0.06); tone(594, 0.5, 2.4, 0.05); },
      stop: () => { tone(220, 0, 0.9, 0.12); tone(220, 0.45, 0.9, 0.12); },
    };
    return {
      // Sound may only begin with a touch of the person.
      wake(interrupted) {
        try {
          if (!context) {
            context = new AudioContext();
            context.addEventListener("statechange", () => { if (context.state === "interrupted") interrupted(); });
          }
          context.resume?.().catch?.(() => {});
        } catch { context = null; }
      },
      play: (name) => { try { sounds[name]?.(); } catch { context = null; } },
    };
  }

  function voiceOf(language) {
    const speaks = window.speechSynthesis;
    const tag = language.toLowerCase();
    // Only voices of this machine: others would send the words away.
    const own = () => {
      const local = (speaks?.getVoices() ?? []).filter((v) => v.localService === true);
      const named = (v) => v.lang.toLowerCase().replace("_", "-");
      return local.find((v) => named(v) === tag) ?? local.find((v) => named(v).split("-")[0] === tag.split("-")[0]);
    };
    return {
      there: () => Boolean(own()),
      whenKnown: (tell) => speaks?.addEventListener?.("voiceschanged", tell),
      say(words, first) {
        const voice = own();
        if (!voice || !words) return;
        if (first) speaks.cancel();
        const said = new SpeechSynthesisUtterance(words);
        said.voice = voice;
        said.lang = voice.lang;
        said.rate = 0.92;
        speaks.speak(said);
      },
      hush: () => speaks?.cancel(),
    };
  }

  // ---- what is shown ------------------------------------------------------------------------------------------------
  function face(root, score, steps, words) {
    const one = (name) => root.querySelector(`[data-play="${name}"]`);
    const svg = root.querySelector(".sk-stage");
    const whole = svg?.getAttribute("viewBox");
    const put = (name, text) => {
      const place = one(name);
      if (!place) return;
      if (place.textContent !== text) place.textContent = text;
      if (place.hasAttribute("hidden") || text === "") place.hidden = text === "";
    };
    let fitted = "";

    const indexOf = (state) => state.order[Math.min(state.at, state.order.length - 1)];
    const placed = (i, place) => (steps[i].side ? fill(words.place_side, { place, side: steps[i].side }) : place);
    const named = (i) => placed(i, steps[i].place);
    const pressureOf = (state, i) => words.pressures[state.phase === "hold" || i === indexOf(state) ? state.pressure : state.lighter[i]];

    /** The step that was worked before the present one, or -1. */
    function before(state) {
      for (let place = state.at - 1; place >= 0; place -= 1) if (state.status[state.order[place]] === 1) return state.order[place];
      return -1;
    }

    function changeWords(state) {
      const i = indexOf(state);
      const from = before(state);
      const said = [];
      if (from >= 0) {
        if (score.steps[from].tool !== score.steps[i].tool) said.push(fill(words.change_tool, { tool: steps[i].tool }));
        const sides = `${score.steps[from].side} ${score.steps[i].side}`;
        if (sides === "left right") said.push(words.change_right);
        if (sides === "right left") said.push(words.change_left);
      }
      return said.join(" ");
    }

    /** What is said when a step comes. */
    function aloud(state) {
      const i = indexOf(state);
      const hold = state.phase === "hold" ? state.hold : score.steps[i].seconds * 1000;
      const step = fill(words.aloud, {
        does: steps[i].does,
        place: named(i),
        pressure: pressureOf(state, i),
        seconds: inWords(words.times, Math.round(hold / 1000)),
      });
      return [steps[i].spoken, changeWords(state), step, steps[i].caution].filter(Boolean).join(" ");
    }

    function progress(state) {
      let [gone, all] = [0, 0];
      score.steps.forEach((step, i) => {
        if (state.status[i] === 2) return;
        all += step.seconds * 1000;
        if (state.status[i] === 1) gone += step.seconds * 1000;
      });
      if (state.phase === "over") return 1;
      if (state.phase === "hold" && state.hold > 0) gone += score.steps[indexOf(state)].seconds * 1000 * (1 - state.left / state.hold);
      return all > 0 ? Math.min(1, gone / all) : 0;
    }

    /** The how-manieth of how many, without what is left out. */
    function count(state) {
      const kept = (i) => state.status[i] !== 2;
      return { n: Math.max(1, state.order.slice(0, state.at + 1).filter(kept).length), all: state.order.filter(kept).length };
    }

    function show(state) {
      if (state.order.length === 0) return;
      const i = indexOf(state);
      const step = steps[i];
      root.dataset.phase = state.phase;
      root.dataset.paused = state.paused;
      put("part", step.part);
      put("count", fill(words.of, count(state)));
      const what = one("what");
      const key = `${i}/${named(i)}`;
      if (what.dataset.key !== key) {
        what.dataset.key = key;
        const where = document.createElement("span");
        where.className = "play-where";
        // The side is what must not be mistaken from two metres.
        const [before, after = ""] = step.side ? words.place_side.replace("{place}", step.place).split("{side}") : [step.place];
        const side = document.createElement("strong");
        side.textContent = step.side;
        where.append(before, ...(step.side ? [side, after] : []));
        what.replaceChildren(step.does, " ", where);
      }
      put("how", fill(words.how, { pressure: pressureOf(state, i), tool: step.tool }));
      put("caution", step.caution ? `${words.mind} ${step.caution}` : "");
      put("spoken", step.spoken && state.phase === "change" ? step.spoken : "");
      const next = Engine.following(score, state);
      put("next", next >= 0 ? `${words.next} ${steps[next].does}, ${placed(next, steps[next].at)}` : words.last);
      const bar = one("progress");
      if (bar) bar.value = progress(state);
      const pause = one("pause");
      if (pause) pause.textContent = state.paused ? words.on : words.pause;
      seconds(state);
      picture(state, i, next);
      const shape = [key, one("how").textContent, one("note")?.textContent, root.clientWidth, root.clientHeight, state.phase].join("|");
      if (shape !== fitted) { fitted = shape; fit(); }
    }

    function seconds(state) {
      const left = Math.ceil(state.left / 1000);
      put("seconds", state.phase === "over" ? "" : String(left));
      const unit = left === 1 ? words.second : words.seconds;
      let said = unit;
      if (state.phase === "change") said = changeWords(state) || (steps[indexOf(state)].spoken ? words.talk : words.ready);
      put("state", state.paused ? words.paused : said);
    }

    function picture(state, i, next) {
      if (!svg) return;
      for (const mark of svg.querySelectorAll(".sk-step")) {
        const n = Number(mark.dataset.step) - 1;
        mark.classList.toggle("sk-now", n === i);
        mark.classList.toggle("sk-next", n === next && n !== i);
      }
      const now = svg.querySelector(".sk-now");
      svg.dataset.shows = now?.dataset.frame ?? "front";
      root.dataset.shows = svg.dataset.shows;
      svg.setAttribute("viewBox", now?.dataset.box ?? whole);
      closeUp(now);
      dial(state);
    }

    // Where there is little room a whole head would be too small to read: then only the part that is worked is shown.
    function closeUp(now) {
      const { clientWidth: wide, clientHeight: high } = svg;
      if (!now || high < 1 || high > 260) return;
      const mark = now.getBBox();
      const [, , all] = svg.getAttribute("viewBox").split(" ").map(Number);
      const width = Math.min(all, Math.max(mark.width * 1.3, mark.height * 1.5 * wide / high, all * 0.45));
      const height = width * high / wide;
      svg.setAttribute("viewBox", `${mark.x + mark.width / 2 - width / 2} ${mark.y + mark.height / 2 - height / 2} ${width} ${height}`);
    }

    // A hold fills with ink as its seconds pass; second by second where the system asks for less motion.
    function dial(state) {
      if (!svg) return;
      let share = state.phase === "hold" && state.hold > 0 ? 1 - state.left / state.hold : 0;
      if (calm() && state.hold > 0) share = 1 - Math.ceil(state.left / 1000) * 1000 / state.hold;
      share = state.phase === "hold" ? Math.max(0, Math.min(1, share)) : 0;
      for (const round of svg.querySelectorAll(".sk-now [data-round]")) {
        const length = Number(round.dataset.round);
        round.setAttribute("stroke-dasharray", `${share * length} ${length}`);
      }
    }

    // A long text on a small screen grows smaller, and the drawing gives way, before anything is cut off.
    function fit() {
      const body = one("body");
      const text = one("now");
      if (!body || body.clientHeight < 1) return;
      const parts = [...text.children].filter((c) => !c.hidden);
      const gap = () => parseFloat(getComputedStyle(text).rowGap || 0);
      const room = () => body.clientHeight - parts.reduce((sum, c) => sum + c.offsetHeight, 0) - (parts.length - 1) * gap() - 10;
      root.classList.remove("no-room", "tight");
      const beside = getComputedStyle(body).gridTemplateColumns.split(" ").length > 1;
      const small = (least, wanted) => {
        for (let scale = 1; scale >= least; scale -= 0.04) {
          root.style.setProperty("--fit", scale.toFixed(2));
          if (room() >= wanted) return true;
        }
        return false;
      };
      // Below the words the drawing wants a third of the height; if that can't be, a strip of it; else the words alone.
      if (!beside && (small(0.6, Math.max(120, body.clientHeight * 0.34)) || small(0.66, 110))) return;
      if (!small(0.3, 0)) root.classList.add("tight");
      root.classList.toggle("no-room", !beside && room() < 96);
    }

    return { one, put, show, count, seconds, dial, fit, aloud, indexOf, named, pressureOf, refit: () => { fitted = ""; } };
  }

  // ---- the session --------------------------------------------------------------------------------------------------
  function start(given) {
    const { root } = given;
    const { score, steps, words, language } = { ...data(root), ...Object.fromEntries(Object.entries(given).filter(([, v]) => v !== undefined)) };
    const restore = given.restore ?? null;
    const shown = face(root, score, steps, words);
    const { one } = shown;
    const sound = chimes();
    const voice = voiceOf(language);
    const panes = [...root.querySelectorAll("[data-pane]")];
    const events = restore ? [...restore.events] : [];
    const state = restore ? Engine.replay(score, events, restore.seen) : Engine.begin(score);
    let base = restore?.seen ?? 0;
    let since = null; // when the clock of this page began to count; null: it stands
    let announced = "";
    let sawSecond = -1;
    let noteUntil = 0;
    let lock = null;
    let covered = null;
    let lastTap = 0;
    let ended = false;
    let ticking = 0;

    // The engine changes its state in place: what it was before.
    const snap = () => ({ at: state.at, phase: state.phase, step: shown.indexOf(state), status: [...state.status], pains: [...state.pains] });
    let last = base;
    // Never backward, whatever the machine's clock does.
    const now = () => { last = Math.max(last, since === null ? base : base + Math.round(performance.now() - since)); return last; };
    const going = () => state.phase === "change" || state.phase === "hold";
    const speaking = () => one("voice").checked && voice.there();
    const pane = () => panes.find((p) => !p.hidden)?.dataset.pane ?? null;

    function show(name) {
      for (const p of panes) p.hidden = p.dataset.pane !== name;
      // What lies under a pane must not be reached with the keyboard.
      for (const part of root.querySelectorAll(':scope > [data-play="under"], :scope > [data-play="body"]')) part.inert = name !== null;
      const open = panes.find((p) => p.dataset.pane === name);
      if (!open) { root.focus({ preventScroll: true }); shown.refit(); shown.show(state); return; }
      // A long pane is read from its top; what is pressed next has the focus all the same.
      (open.querySelector("h2[tabindex]") ?? open.querySelector("button.go, a.go, button"))?.focus({ preventScroll: true });
      open.scrollTop = 0;
    }

    function say(text, first) {
      if (speaking()) voice.say(text, first);
    }

    function tell(text, loud = true) {
      one("told").textContent = text;
      if (loud) say(text, false);
    }

    function note(text) {
      if (!text) return;
      shown.put("note", text);
      one("note").hidden = false;
      noteUntil = now() + 7000;
      if (one("chimes").checked) sound.play("note");
      tell(text);
      shown.refit();
    }

    async function keepAwake(on) {
      try {
        if (on && navigator.wakeLock) {
          if (!lock || lock.released) lock = await navigator.wakeLock.request("screen");
        } else { await lock?.release(); lock = null; }
      } catch { lock = null; }
    }

    // What the last event, or time, did: in words.
    function noted(before, event) {
      const dropped = state.status.filter((s, i) => s === 2 && before.status[i] !== 2).length;
      switch (state.note) {
        case "longer": return fill(words.note_longer, { seconds: inWords(words.times, Math.round(state.hold / 1000)) });
        case "no_longer": return event?.felt === "red" ? words.note_red : words.note_no_longer;
        case "lighter": {
          if (event?.felt === "red") return words.note_red;
          return fill(words.note_lighter, { pressure: shown.pressureOf(state, shown.indexOf(state)).toLowerCase() });
        }
        case "ended": return words.note_ended;
        case "dropped": {
          if (event?.do === "end") return words.note_closing;
          const third = event?.felt === "painful" && state.pains.some((n, t) => n >= 3 && before.pains[t] < 3);
          if (third) return words.note_target;
          // The step itself is told by its going.
          const more = dropped - (state.status[before.step] === 2 && before.status[before.step] !== 2 ? 1 : 0);
          if (more < 1) return event?.felt === "painful" ? words.note_ended : "";
          return more === 1 ? words.note_one_dropped : fill(words.note_dropped, { n: more });
        }
        case "shorter_rest": return words.note_shorter;
        default: return event?.do === "end" && going() ? words.note_closing : "";
      }
    }

    // After an event or after time: what is new is said, sounded, shown.
    function moved(before, event) {
      if (state.phase === "over") { over(); return; }
      const key = `${state.at}|${shown.indexOf(state)}`;
      const fresh = key !== announced || (before.phase === "hold" && state.phase === "change") || event?.do === "back";
      const began = state.phase === "hold" && (before.phase !== "hold" || key !== announced);
      const text = noted(before, event);
      if (fresh && going()) {
        if (before.phase === "hold" && one("chimes").checked) sound.play("end");
        announced = key;
        const words = shown.aloud(state);
        one("told").textContent = words;
        say(words, true);
      }
      if (began && one("chimes").checked) sound.play("begin");
      note(text);
      shown.show(state);
    }

    function act(what, felt) {
      if (state.phase === "over") return;
      const event = felt ? { at: now(), do: what, felt } : { at: now(), do: what };
      const before = snap();
      Engine.apply(score, state, event);
      events.push(event);
      given.onEvent?.(event, events, now(), state);
      moved(before, event);
      given.onShow?.(state, now());
    }

    const FELT = ["easy", "tender", "tight", "red", "painful", "dizzy", "numb"];

    /** A button, a key or the pedal. */
    function doing(what) {
      if (!going()) return;
      if (what === "pause") { pause(!state.paused); return; }
      if (FELT.includes(what)) { act("felt", what); if (state.phase !== "over") marked(what); return; }
      act(what);
    }

    // Felt without another word for it: the button itself says that it was taken.
    function marked(what) {
      const button = root.querySelector(`[data-do="${what}"]`);
      button?.classList.add("taken");
      setTimeout(() => button?.classList.remove("taken"), 1600);
    }

    function pause(on, why) {
      if (!going() || state.paused === on) return;
      if (on) voice.hush();
      act(on ? "pause" : "resume");
      if (on) {
        if (why) note(why);
        one("told").textContent = why ?? words.paused;
      } else {
        keepAwake(true);
        sound.wake(interrupted);
        const said = shown.aloud(state);
        if (state.phase === "change") say(said, true);
      }
      session();
    }

    const interrupted = () => pause(true, words.interrupted);

    function over() {
      if (ended) return;
      ended = true;
      clearInterval(ticking);
      base = now();
      since = null;
      keepAwake(false);
      session();
      const kind = ["sign", "dizzy", "numb"].includes(state.over) ? state.over : "over";
      voice.hush();
      if (one("chimes").checked) sound.play(kind === "over" ? "done" : "stop");
      const after = one("after");
      const open = panes.find((p) => p.dataset.pane === kind);
      for (const title of open.querySelectorAll("[data-over]")) title.hidden = title.dataset.over !== (state.over === "whole" ? "whole" : "early");
      if (after) {
        // When everything ends, what to do comes first; then what follows; then the list.
        const before = open.querySelector("h3");
        if (before) open.insertBefore(after, before); else open.append(after);
        after.hidden = false;
      }
      root.dataset.phase = "over";
      show(kind);
      say(words[`${state.over}_aloud`] ?? words.early_aloud, true);
      one("told").textContent = words[`${state.over}_aloud`] ?? words.early_aloud;
      given.onShow?.(state, now());
      given.onOver?.(state, events, now());
    }

    function tick() {
      if (since === null || !going()) return;
      const at = now();
      if (noteUntil && at > noteUntil) { noteUntil = 0; one("note").hidden = true; one("note").textContent = ""; shown.refit(); shown.show(state); }
      const second = Math.floor(at / 1000);
      if (!state.paused) {
        const before = snap();
        Engine.until(score, state, at);
        if (state.phase === "over") { over(); return; }
        if (state.at !== before.at || state.phase !== before.phase || shown.indexOf(state) !== before.step || state.note) {
          moved(before, null);
          given.onShow?.(state, at);
        } else {
          shown.seconds(state);
          shown.dial(state);
        }
      }
      if (second !== sawSecond) {
        sawSecond = second;
        if (!state.paused) {
          shown.show(state);
          given.onShow?.(state, at);
        }
        given.onSeen?.(at, events, state);
      }
    }

    // Headset buttons, where the system sends them on.
    function session() {
      const media = navigator.mediaSession;
      if (!media) return;
      try { media.playbackState = !going() ? "none" : state.paused ? "paused" : "playing"; } catch { /* not there */ }
    }
    function handlers() {
      const media = navigator.mediaSession;
      if (!media?.setActionHandler) return;
      for (const [name, what] of [
        ["play", () => pause(false)],
        ["pause", () => pause(true)],
        ["nexttrack", () => doing("next")],
        ["previoustrack", () => doing("back")],
      ]) try { media.setActionHandler(name, what); } catch { /* not every browser knows each */ }
    }

    function begin() {
      sound.wake(interrupted);
      keepAwake(true);
      since = performance.now();
      show(null);
      if (state.phase === "ready") act("start");
      else if (state.phase !== "over") { announced = ""; pause(false); const said = shown.aloud(state); say(said, true); one("told").textContent = said; announced = `${state.at}|${shown.indexOf(state)}`; }
      shown.show(state);
    }

    // ---- hands on the page ----
    const drawer = (name) => {
      const open = root.dataset.open === name ? "" : name;
      root.dataset.open = open;
      for (const b of root.querySelectorAll("[data-opens]")) b.setAttribute("aria-expanded", String(b.dataset.opens === open));
      shown.refit();
      shown.show(state);
    };
    root.addEventListener("click", (event) => {
      const button = event.target.closest("button");
      if (button && root.contains(button)) {
        // After a touch the keys are the session's again; who came by keyboard stays where they are.
        if (event.detail > 0 && pane() === null) root.focus({ preventScroll: true });
        if (button.dataset.opens) { drawer(button.dataset.opens); return; }
        if (button.dataset.do) {
          if (root.dataset.open) drawer("");
          doing(button.dataset.do);
        }
        return;
      }
      if (event.target.closest('[data-play="body"]') && pane() === null && going()) {
        // An elbow bounces.
        if (event.timeStamp - lastTap < 500) return;
        lastTap = event.timeStamp;
        pause(!state.paused);
      }
    });
    one("begin").addEventListener("click", begin);
    one("set-open").addEventListener("click", () => { pause(true); show("set"); });
    one("set-close").addEventListener("click", () => show(null));
    one("day").addEventListener("change", () => { root.dataset.light = one("day").checked ? "day" : "night"; });
    one("voice").addEventListener("change", () => { if (!one("voice").checked) voice.hush(); });

    root.ownerDocument.addEventListener("keydown", (event) => {
      if (event.ctrlKey || event.metaKey || event.altKey || covered !== null) return;
      if (pane() === "set" && event.key === "Escape") { show(null); event.preventDefault(); return; }
      if (pane() !== null || !going()) return;
      const on = event.target.closest?.("button, input, a, select, textarea");
      const doings = { ArrowRight: "next", PageDown: "next", ArrowLeft: "back", PageUp: "back", ArrowUp: "longer" };
      if (event.key === " ") {
        // Space on a button presses that button.
        if (on) return;
        if (!event.repeat) doing("pause");
      } else if (doings[event.key]) {
        if (!event.repeat) doing(doings[event.key]);
      } else if (event.key === "Escape" && root.dataset.open) {
        drawer("");
      } else if (one("letters").checked && event.key.length === 1 && words.letters[event.key.toLowerCase()]) {
        if (on?.matches?.("input, select, textarea")) return;
        const what = words.letters[event.key.toLowerCase()];
        if (event.repeat) return;
        if (what === "set") { pause(true); show("set"); } else doing(what);
      } else return;
      event.preventDefault();
    });

    // A phone call, another window, a closed lid.
    const hidden = () => { if (document.visibilityState === "hidden") pause(true, words.away); else if (going() && since !== null) keepAwake(true); };
    document.addEventListener("visibilitychange", hidden);
    // A page that leaves says nothing of its own: whatever comes back stands still. One that comes back out of the browser's memory waits.
    addEventListener("pageshow", (event) => { if (event.persisted) pause(true, words.away); });
    addEventListener("freeze", () => pause(true, words.away));
    addEventListener("resize", () => { shown.refit(); if (going()) shown.show(state); });

    const tellVoice = () => {
      const there = voice.there();
      one("voice").disabled = !there;
      for (const hint of root.querySelectorAll('[data-play="no-voice"]')) hint.hidden = there;
    };
    tellVoice();
    voice.whenKnown(tellVoice);
    handlers();

    // ---- the beginning ----
    root.dataset.on = "";
    if (state.phase === "over") {
      over();
    } else {
      if (going() && !state.paused) {
        // It was cut off while it ran: it stands where it was.
        const event = { at: base, do: "pause" };
        Engine.apply(score, state, event);
        events.push(event);
        given.onEvent?.(event, events, base, state);
      }
      if (going()) {
        one("begin").textContent = words.begin_again;
        const at = fill(words.restored, { clock: clock(base), ...shown.count(state) });
        shown.put("restored", at);
        one("restored").hidden = false;
        root.dataset.restored = "";
      }
      shown.show(state);
      show("ready");
    }
    if (!ended) ticking = setInterval(tick, 100);

    return {
      state: () => state,
      events: () => [...events],
      at: now,
      pause: (why) => pause(true, why),
      /** Something lies over everything (the practice is locked): it waits, and no key reaches it. */
      cover(node) { covered = node; if (node) pause(true); },
    };
  }

  // ---- a second screen ----------------------------------------------------------------------------------------------
  function screen({ root, ...given }) {
    const { score, steps, words } = { ...data(root), ...given };
    const shown = face(root, score, steps, words);
    addEventListener("resize", () => shown.refit());
    shown.show(Engine.begin(score));
    return { show: (state) => shown.show(state) };
  }

  return { start, screen, data, clock };
})();
