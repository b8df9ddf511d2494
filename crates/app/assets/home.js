// The page at home: runs the routine, keeps what was felt on this phone, helps with the photograph, makes the home note.
// Nothing here is needed to read the guide. No request ever leaves: the page's own policy forbids every one.
"use strict";

(() => {
  const one = (id) => document.getElementById(id);
  const data = JSON.parse(one("home-data").textContent);
  const { words, code, language } = data;
  const fill = (text, values) => text.replace(/\{(\w+)\}/g, (whole, name) => (name in values ? values[name] : whole));
  const two = (n) => String(n).padStart(2, "0");
  const dayOf = (date) => `${String(date.getFullYear()).padStart(4, "0")}-${two(date.getMonth() + 1)}-${two(date.getDate())}`;
  const timeOf = (date) => `${two(date.getHours())}:${two(date.getMinutes())}`;
  const today = () => dayOf(new Date());
  const daysBetween = (from, to) => Math.round((Date.parse(`${to}T12:00:00Z`) - Date.parse(`${from}T12:00:00Z`)) / 86400000);
  const inWords = new Intl.DateTimeFormat(language === "en" ? "en-GB" : language, { day: "numeric", month: "long", year: "numeric", timeZone: "UTC" });
  const said = (day) => inWords.format(new Date(`${day}T12:00:00Z`));
  function lengthOf(seconds) {
    const [m, s] = [Math.floor(seconds / 60), seconds % 60];
    if (m === 0) return s === 1 ? words.one_second : fill(words.seconds, { s });
    if (s === 0) return m === 1 ? words.one_minute : fill(words.minutes, { m });
    return fill(words.minutes_seconds, { m, s });
  }
  function tell(text) { one("home-told").textContent = text; }
  const make = (tag, text, more = {}) => Object.assign(document.createElement(tag), { textContent: text }, more);

  // ---- what is kept, on this phone alone ----------------------------------------------------------------------------
  const KEY = `tragion-home-${code}`;
  const MOST_SESSIONS = 1000;
  let keeps = false;
  let record = { sessions: [], hour: null, sent: null, running: null };

  const isDay = (text) => typeof text === "string" && /^\d{4}-\d{2}-\d{2}$/.test(text);
  /** What stands there may be anybody's: every file opened in this browser may share the place. */
  function sane(kept) {
    if (typeof kept !== "object" || kept === null || !Array.isArray(kept.sessions)) return null;
    const sessions = kept.sessions.filter((s) => s && isDay(s.day) && /^\d\d:\d\d$/.test(s.at) && Number.isInteger(s.seconds)
      && typeof s.ended === "string" && Array.isArray(s.felt) && Array.isArray(s.before) && Array.isArray(s.after) && typeof s.words === "string");
    return {
      sessions: sessions.slice(-MOST_SESSIONS),
      hour: typeof kept.hour === "string" ? kept.hour : null,
      sent: isDay(kept.sent) ? kept.sent : null,
      running: kept.running && Array.isArray(kept.running.events) && Number.isFinite(kept.running.seen) ? kept.running : null,
    };
  }
  function load() {
    try {
      const text = localStorage.getItem(KEY);
      localStorage.setItem(`${KEY}-try`, "1");
      localStorage.removeItem(`${KEY}-try`);
      keeps = true;
      if (text) record = sane(JSON.parse(text)) ?? record;
    } catch (error) {
      // A text that is no JSON is not ours; a place that can't be written is none.
      keeps = keeps && error instanceof SyntaxError;
    }
  }
  function save() {
    if (!keeps) return;
    try { localStorage.setItem(KEY, JSON.stringify(record)); one("home-full").hidden = true; } catch { one("home-full").hidden = false; }
  }
  addEventListener("storage", (event) => {
    if (event.key !== KEY || playing) return;
    load();
    list();
  });

  // ---- the sessions -------------------------------------------------------------------------------------------------
  const pristine = one("home-player")?.firstElementChild?.cloneNode(true) ?? null;
  let playing = null;

  const level = (id) => { const value = one(id)?.value ?? ""; return value === "" ? null : Number(value); };
  const levels = (when, names) => names.map((name) => level(`${when}-${name}`));
  const BEFORE = ["relaxed", "stress", "wellbeing", "sleep"];
  const AFTER = ["relaxed", "stress", "wellbeing"];

  function feltOf(state) {
    const seen = new Set();
    const felt = [];
    for (const { step, felt: what } of state.felt ?? []) {
      const [target, side] = data.targets[step] ?? [];
      const key = `${target}|${side}|${what}`;
      if (!target || target === "oil" || seen.has(key) || felt.length >= 64) continue;
      seen.add(key);
      felt.push([target, side, what]);
    }
    return felt;
  }

  function begin(restore) {
    if (!pristine || playing) return;
    const root = pristine.cloneNode(true);
    one("home-player").replaceChildren(root);
    one("page").inert = true;
    document.documentElement.classList.add("playing");
    const started = restore ? new Date(restore.began) : new Date();
    playing = { root, session: null };
    const running = (at, events) => { record.running = { began: started.getTime(), seen: at, events: [...events] }; save(); };
    for (const button of root.querySelectorAll("[data-home=leave]")) button.addEventListener("click", close);
    Player.start({
      root,
      restore: restore ?? undefined,
      onEvent(event, events, at) {
        if (event.do === "start" && !restore) started.setTime(Date.now());
        running(at, events);
      },
      onSeen(at, events) { if (Math.floor(at / 1000) % 5 === 0) running(at, events); },
      onOver(state) {
        const before = restore ? restore.before ?? [null, null, null, null] : levels("before", BEFORE);
        const session = {
          day: dayOf(started), at: timeOf(started), seconds: Math.min(7200, Math.max(0, Math.round((state.spent ?? 0) / 1000))),
          ended: state.over, felt: feltOf(state), before, after: [null, null, null], words: "",
        };
        record.running = null;
        record.sessions.push(session);
        if (record.sessions.length > MOST_SESSIONS) record.sessions.shift();
        playing.session = session;
        save();
        armAfter(root, session);
      },
    });
    // One of the day's questions open, and there is no session. Who goes on with one has answered them.
    const begins = root.querySelector("[data-play=begin]");
    const noneToday = root.querySelector("[data-home=none-today]");
    if (restore) noneToday.checked = true;
    else begins.disabled = true;
    noneToday.addEventListener("change", () => { begins.disabled = !noneToday.checked; });
    // Who does this for the first time reads the questions; later they are one touch away.
    const questions = root.querySelector("[data-home=questions]");
    questions.open = !restore && record.sessions.length === 0;
    const leave = root.querySelector("[data-home=leave]");
    begins.parentElement.append(leave);
    if (!restore) noneToday.focus({ preventScroll: true });
    for (const name of BEFORE) {
      root.querySelector(`#before-${name}`)?.addEventListener("change", () => {
        if (record.running) record.running.before = levels("before", BEFORE);
      });
    }
  }

  // Kept as it is said: who closes the page at once loses nothing.
  function armAfter(root, session) {
    const form = root.querySelector("[data-home=after]");
    if (!form) return;
    const take = () => {
      session.after = levels("after", AFTER);
      session.words = (one("after-words")?.value ?? "").slice(0, 1000);
      save();
    };
    form.addEventListener("input", take);
    form.addEventListener("change", take);
    form.addEventListener("submit", (event) => {
      event.preventDefault();
      take();
      close();
      tell(words.kept);
    });
  }

  function close() {
    if (!playing) return;
    const { session } = playing;
    playing = null;
    one("home-player").replaceChildren();
    one("page").inert = false;
    document.documentElement.classList.remove("playing");
    list();
    (session ? one("notes-title") : one("home-begin")).focus();
  }

  function list() {
    const all = one("home-sessions");
    all.replaceChildren();
    one("home-none").hidden = record.sessions.length > 0;
    const ordered = record.sessions.map((session, i) => ({ session, i })).reverse();
    for (const { session, i } of ordered) {
      const item = make("li", "");
      const line = fill(words.session_line, {
        day: said(session.day), time: session.at, length: lengthOf(session.seconds), ended: words[`ended_${session.ended}`] ?? session.ended,
      });
      item.append(make("p", line));
      const told = [];
      const pairs = [["relaxed", 0], ["stress", 1], ["wellbeing", 2], ["sleep", 3]];
      for (const [name, at] of pairs) {
        const [was, is] = [session.before[at] ?? null, session.after[at] ?? null];
        if (was === null && is === null) continue;
        told.push(`${words[name]}: ${was ?? "–"}${at < 3 ? ` → ${is ?? "–"}` : ""}`);
      }
      if (told.length) item.append(make("p", told.join(" · "), { className: "hint" }));
      if (session.words) item.append(make("p", session.words, { className: "own-words" }));
      const away = make("button", words.take_away, { type: "button", className: "quiet" });
      away.setAttribute("aria-label", `${words.take_away}: ${line}`);
      away.addEventListener("click", () => ask(item, i));
      item.append(away);
      all.append(item);
    }
    noteState();
  }

  function ask(item, i) {
    const question = make("div", "", { className: "ask" });
    question.setAttribute("role", "group");
    question.append(make("p", words.take_away_sure));
    const yes = make("button", words.yes, { type: "button" });
    const no = make("button", words.no, { type: "button" });
    yes.addEventListener("click", () => { record.sessions.splice(i, 1); save(); list(); tell(words.taken_away); one("notes-title").focus(); });
    no.addEventListener("click", () => { list(); one("notes-title").focus(); });
    question.append(yes, no);
    item.lastElementChild.replaceWith(question);
    no.focus();
  }

  // ---- files --------------------------------------------------------------------------------------------------------
  function give(blob, name) {
    const link = make("a", "", { href: URL.createObjectURL(blob), download: name });
    document.body.append(link);
    link.click();
    link.remove();
    setTimeout(() => URL.revokeObjectURL(link.href), 60000);
  }

  // ---- the home note ------------------------------------------------------------------------------------------------
  // The most bytes of a QR code of version 25 at level M (ISO/IEC 18004, table 7).
  const MOST_QR = 997;

  function days() {
    const by = new Map();
    for (const session of record.sessions) {
      const on = by.get(session.day) ?? [];
      if (on.length < 12) on.push(session);
      by.set(session.day, on);
    }
    return [...by].sort(([a], [b]) => (a < b ? -1 : 1)).slice(-400);
  }

  const made = () => { const last = days().at(-1)?.[0] ?? today(); return last > today() ? last : today(); };

  function long() {
    const list = days().map(([day, sessions]) => ({
      day,
      sessions: sessions.map(({ at, seconds, ended, felt, before, after, words: own }) => ({ at, seconds, ended, felt, before, after, words: own })),
    }));
    return { tragion: "home-note", version: 1, code, made: made(), language, days: list };
  }

  const SIDES = { left: "l", right: "r", midline: "m", both: "b" };
  const none = (list) => (list.every((v) => v === null) ? 0 : list);
  function short({ own, felt, keep }) {
    const list = days().slice(-keep).map(([day, sessions]) => [day, sessions.map((s) => {
      const row = [s.at, s.seconds, s.ended[0], 0, none(s.before), none(s.after), 0];
      if (felt && s.felt.length) row[3] = s.felt.map(([target, side, what]) => [target, SIDES[side], what.slice(0, 2)]);
      if (own && s.words) row[6] = s.words;
      while (row.length > 3 && row.at(-1) === 0) row.pop();
      return row;
    })]);
    const out = [];
    const note = { tragion: "hn", version: 1, c: code, m: made(), l: language, d: list };
    if (!own && record.sessions.some((s) => s.words)) out.push("w");
    if (!felt && record.sessions.some((s) => s.felt.length)) out.push("f");
    if (keep < days().length) out.push("d");
    if (out.length) note.o = out;
    return note;
  }

  /** What has room in a picture: own words go first, then single places, then the earliest days. */
  function fitting() {
    const size = (note) => new TextEncoder().encode(JSON.stringify(note)).length;
    const all = days().length;
    for (const what of [{ own: true, felt: true }, { own: false, felt: true }, { own: false, felt: false }]) {
      const note = short({ ...what, keep: Math.min(all, 31) });
      if (size(note) <= MOST_QR && all <= 31) return note;
    }
    for (let keep = Math.min(all, 31); keep > 0; keep -= 1) {
      const note = short({ own: false, felt: false, keep });
      if (size(note) <= MOST_QR) return note;
    }
    return null;
  }

  const noteName = (end) => `${fill(words.note_name, { day: today() })}.${end}`;
  const noteText = () => JSON.stringify(long(), null, 1);

  function noteState() {
    const all = days();
    const some = all.length > 0;
    one("home-note-none").hidden = some;
    one("home-note-have").hidden = !some;
    one("home-qr").hidden = true;
    one("home-text").hidden = true;
    if (!some) { one("home-week").hidden = true; return; }
    one("home-note-lead").textContent = fill(words.note_lead, { from: said(all[0][0]), to: said(all.at(-1)[0]), code });
    const since = record.sent ?? all[0][0];
    one("home-week").hidden = daysBetween(since, today()) < 7;
  }

  const sent = () => { record.sent = today(); save(); one("home-week").hidden = true; };

  function showQr() {
    const note = fitting();
    if (!note) return;
    qrcode.stringToBytes = qrcode.stringToBytesFuncs["UTF-8"];
    const qr = qrcode(0, "M");
    qr.addData(JSON.stringify(note), "Byte");
    qr.make();
    const n = qr.getModuleCount();
    let path = "";
    for (let y = 0; y < n; y += 1) for (let x = 0; x < n; x += 1) if (qr.isDark(y, x)) path += `M${x + 4} ${y + 4}h1v1h-1z`;
    const svg = one("home-qr-svg");
    svg.setAttribute("viewBox", `0 0 ${n + 8} ${n + 8}`);
    one("home-qr-path").setAttribute("d", path);
    one("home-qr-white").setAttribute("width", n + 8);
    one("home-qr-white").setAttribute("height", n + 8);
    const left = note.o ?? [];
    const out = [];
    if (left.includes("w")) out.push(words.note_left_words);
    if (left.includes("f")) out.push(words.note_left_felt);
    if (left.includes("d")) out.push(fill(words.note_left_days, { n: note.d.length }));
    one("home-qr-left").textContent = out.join(" ");
    one("home-text").hidden = true;
    one("home-qr").hidden = false;
    one("home-qr").focus();
    sent();
    showQr.picture = () => {
      const scale = Math.max(4, Math.ceil(900 / (n + 8)));
      const canvas = make("canvas", "", { width: (n + 8) * scale, height: (n + 8) * scale });
      const pen = canvas.getContext("2d");
      pen.fillStyle = "#fff";
      pen.fillRect(0, 0, canvas.width, canvas.height);
      pen.fillStyle = "#000";
      for (let y = 0; y < n; y += 1) for (let x = 0; x < n; x += 1) if (qr.isDark(y, x)) pen.fillRect((x + 4) * scale, (y + 4) * scale, scale, scale);
      canvas.toBlob((blob) => { if (blob) give(blob, noteName("png")); }, "image/png");
    };
  }

  function armNote() {
    one("home-note-save").addEventListener("click", () => { give(new Blob([noteText()], { type: "application/json" }), noteName("json")); sent(); });
    const file = () => new File([noteText()], noteName("json"), { type: "application/json" });
    let shares = false;
    try { shares = Boolean(navigator.canShare?.({ files: [new File(["{}"], "note.json", { type: "application/json" })] })); } catch { shares = false; }
    one("home-note-share").hidden = !shares;
    one("home-note-share").addEventListener("click", () => { navigator.share({ files: [file()] }).then(sent, () => {}); });
    one("home-note-qr").addEventListener("click", showQr);
    one("home-qr-save").addEventListener("click", () => showQr.picture?.());
    one("home-note-text").addEventListener("click", () => {
      one("home-qr").hidden = true;
      one("home-text").hidden = false;
      one("home-text-area").value = noteText();
      one("home-text-area").focus();
      one("home-text-area").select();
      sent();
    });
  }

  // ---- the day's photograph -----------------------------------------------------------------------------------------
  function armPhoto() {
    const video = one("photo-video");
    if (!video) return;
    const [picture, still, live] = [one("photo-picture"), one("photo-still"), one("photo-live")];
    let stream = null;
    let blob = null;
    const hour = () => {
      // The practitioner's first one counts, where its hour is known; else the first that was saved here.
      const time = one("photo-hour").dataset.hour ?? record.hour;
      one("photo-hour").hidden = !time;
      if (time) one("photo-hour").textContent = fill(words.photo_hour, { time, now: timeOf(new Date()) });
    };
    const stop = () => {
      for (const track of stream?.getTracks() ?? []) track.stop();
      stream = null;
      video.srcObject = null;
      live.hidden = true;
      one("photo-camera").hidden = !navigator.mediaDevices?.getUserMedia;
    };
    function show(file) {
      if (picture.src) URL.revokeObjectURL(picture.src);
      blob = file;
      picture.onload = () => { still.hidden = false; one("photo-bad").hidden = true; one("photo-save").focus(); };
      picture.onerror = () => { still.hidden = true; one("photo-bad").hidden = false; };
      picture.src = URL.createObjectURL(file);
    }
    one("photo-camera").hidden = !navigator.mediaDevices?.getUserMedia;
    one("photo-camera").addEventListener("click", async () => {
      try {
        stream = await navigator.mediaDevices.getUserMedia({ audio: false, video: { facingMode: "user", width: { ideal: 1920 }, height: { ideal: 1440 } } });
      } catch {
        one("photo-camera").hidden = true;
        one("photo-no-camera").hidden = false;
        one("photo-file").focus();
        return;
      }
      still.hidden = true;
      video.srcObject = stream;
      live.hidden = false;
      one("photo-camera").hidden = true;
      await video.play().catch(() => {});
      one("photo-take").focus();
    });
    one("photo-take").addEventListener("click", () => {
      if (!video.videoWidth) return;
      const canvas = make("canvas", "", { width: video.videoWidth, height: video.videoHeight });
      // As the camera sees it, not as the mirror on the screen shows it.
      canvas.getContext("2d").drawImage(video, 0, 0);
      canvas.toBlob((taken) => { stop(); if (taken) show(taken); }, "image/jpeg", 0.95);
    });
    one("photo-stop").addEventListener("click", () => { stop(); one("photo-camera").focus(); });
    one("photo-file").addEventListener("change", () => { const file = one("photo-file").files[0]; if (file) { stop(); show(file); } });
    one("photo-again").addEventListener("click", () => { still.hidden = true; one("photo-file").value = ""; (one("photo-camera").hidden ? one("photo-file") : one("photo-camera")).focus(); });
    one("photo-save").addEventListener("click", () => {
      if (!blob) return;
      const end = (/\.([a-z0-9]{2,4})$/i.exec(blob.name ?? "")?.[1] ?? "jpg").toLowerCase();
      give(blob, `${fill(words.photo_name, { day: today() })}.${end}`);
      record.hour ??= timeOf(new Date());
      save();
      hour();
    });
    addEventListener("pagehide", stop);
    hour();
  }

  // ---- the beginning ------------------------------------------------------------------------------------------------
  load();
  for (const part of document.querySelectorAll(".with-script")) part.hidden = false;
  one(keeps ? "home-kept-here" : "home-kept-not").hidden = false;
  const start = one("home-begin");
  const runs = Boolean(pristine) && typeof Player === "object" && typeof Engine === "object";
  start.hidden = !runs;
  start.addEventListener("click", () => begin(null));
  const over = data.until && today() > data.until;
  one("home-expired").hidden = !over;
  if (over) {
    start.disabled = true;
    one("home-asked").addEventListener("change", () => { start.disabled = !one("home-asked").checked; });
  }
  one("home-print").addEventListener("click", () => print());
  armNote();
  armPhoto();
  list();
  // It was cut off: within three hours it can be gone on with.
  const cut = record.running;
  if (runs && !over && cut && Date.now() - cut.began < 3 * 3600000 && cut.events.length) begin(cut);
  else if (cut) { record.running = null; save(); }
})();
