// The script of a visit: files and folders dropped, saying how many are chosen, and the camera with its live checks. Without it photographs
// are brought by the form all the same. A frame that is looked at is small and nowhere stored; what is taken is never mirrored.
"use strict";

(() => {
  const form = document.getElementById("visit-form");
  const drop = document.getElementById("visit-drop");
  if (!form || !drop) return;
  const files = document.getElementById("photos");
  const folder = document.getElementById("folder");
  const chosen = document.getElementById("chosen");
  const busy = document.getElementById("measuring");
  const all = () => files.files.length + folder.files.length;
  const say = () => {
    const n = all();
    chosen.textContent = n === 0 ? "" : (n === 1 ? chosen.dataset.one : chosen.dataset.many).replace("{n}", n);
  };
  files.addEventListener("change", say);
  folder.addEventListener("change", say);

  // ---- dropped ------------------------------------------------------------------------------------------------------
  drop.querySelector(".dropping").hidden = false;
  let depth = 0;
  const over = (on) => drop.classList.toggle("over", on);
  const readAll = async (entry) => {
    if (entry.isFile) return [await new Promise((done, fail) => entry.file(done, fail))];
    const reader = entry.createReader();
    const found = [];
    // A directory answers in portions, until one is empty.
    for (;;) {
      const some = await new Promise((done, fail) => reader.readEntries(done, fail));
      if (!some.length) break;
      for (const inner of some) found.push(...(await readAll(inner)));
    }
    return found;
  };
  drop.addEventListener("dragenter", (event) => { event.preventDefault(); depth += 1; over(true); });
  drop.addEventListener("dragover", (event) => event.preventDefault());
  drop.addEventListener("dragleave", () => { depth -= 1; if (depth <= 0) over(false); });
  drop.addEventListener("drop", async (event) => {
    event.preventDefault();
    depth = 0;
    over(false);
    const entries = [...event.dataTransfer.items].map((item) => item.webkitGetAsEntry?.()).filter(Boolean);
    const plain = [...event.dataTransfer.files];
    const found = entries.length ? (await Promise.all(entries.map((e) => readAll(e).catch(() => [])))).flat() : plain;
    if (!found.length) return;
    const taken = new DataTransfer();
    for (const file of found) taken.items.add(file);
    files.files = taken.files;
    folder.value = "";
    say();
    form.querySelector("button[type=submit]").focus();
  });
  form.addEventListener("submit", () => { busy.textContent = busy.dataset.busy; });
  // Coming back by the browser's own button, nothing is being measured.
  addEventListener("pageshow", () => { busy.textContent = ""; say(); });

  // ---- the camera ---------------------------------------------------------------------------------------------------
  const camera = document.getElementById("camera");
  if (!camera) return;
  const [on, off, view, video, shutter, said, ready, gates] = ["camera-on", "camera-off", "camera-view", "camera-video", "shutter", "camera-said",
    "camera-ready", "camera-gates"].map((id) => document.getElementById(id));
  const token = document.querySelector("meta[name=token]")?.content ?? "";
  const canvas = document.createElement("canvas");
  const FRAME = 480;
  const EVERY = 400;
  let stream = null;
  let told = "";
  camera.hidden = false;
  if (!navigator.mediaDevices?.getUserMedia) {
    on.hidden = true;
    said.textContent = camera.dataset.none;
    return;
  }

  /** The picture as the camera has it, never mirrored, so wide. */
  const picture = (width, quality) => {
    canvas.width = width;
    canvas.height = Math.round((width * video.videoHeight) / video.videoWidth);
    canvas.getContext("2d").drawImage(video, 0, 0, canvas.width, canvas.height);
    return new Promise((done) => canvas.toBlob(done, "image/jpeg", quality));
  };

  async function start() {
    said.textContent = "";
    try {
      stream = await navigator.mediaDevices.getUserMedia({
        video: { width: { ideal: 4096 }, height: { ideal: 3072 }, facingMode: "user" }, audio: false,
      });
    } catch (error) {
      said.textContent = error.name === "NotAllowedError" ? camera.dataset.denied : camera.dataset.none;
      return;
    }
    video.srcObject = stream;
    view.hidden = false;
    on.hidden = true;
    await video.play().catch(() => {});
    shutter.focus();
    watch(stream);
  }

  function stop() {
    for (const track of stream?.getTracks() ?? []) track.stop();
    stream = null;
    video.srcObject = null;
    view.hidden = true;
    on.hidden = false;
    on.focus();
  }

  /** Asks what a small frame shows, again and again; one question at a time. */
  async function watch(mine) {
    while (stream === mine) {
      const begun = performance.now();
      if (video.videoWidth && !document.hidden) {
        try {
          const width = Math.min(FRAME, video.videoWidth);
          const body = await picture(width, 0.85);
          const scale = (video.videoWidth / width).toFixed(3);
          const answer = await fetch(`${camera.dataset.frame}?scale=${scale}`, {
            method: "POST", body, headers: { "x-token": token, "content-type": "image/jpeg" },
          });
          if (stream !== mine) return;
          if (!answer.ok || answer.redirected) { ready.textContent = camera.dataset.wait; } else show(await answer.json());
        } catch {
          ready.textContent = camera.dataset.wait;
        }
      }
      await new Promise((done) => setTimeout(done, Math.max(60, EVERY - (performance.now() - begun))));
    }
  }

  function show(answer) {
    // Said anew only where it changes, so that it can be listened to.
    if (told !== answer.says) ready.textContent = told = answer.says;
    ready.classList.toggle("is-ready", answer.ready);
    gates.replaceChildren(...answer.gates.map((gate) => {
      const row = document.createElement("li");
      row.className = gate.passed ? "passed" : "failed";
      row.textContent = `${gate.passed ? "✓" : "✗"} ${gate.says}`;
      return row;
    }));
  }

  async function take() {
    if (!stream || !video.videoWidth || shutter.disabled) return;
    shutter.disabled = true;
    ready.textContent = camera.dataset.taken;
    const shot = await picture(video.videoWidth, 0.95);
    const time = new Date().toTimeString().slice(0, 8).replaceAll(":", "");
    const taken = new DataTransfer();
    taken.items.add(new File([shot], `camera-${time}.jpg`, { type: "image/jpeg" }));
    files.files = taken.files;
    folder.value = "";
    // The camera's picture is never a mirror image, whatever was ticked for files.
    document.getElementById("mirrored").checked = false;
    for (const track of stream.getTracks()) track.stop();
    form.requestSubmit();
  }

  on.addEventListener("click", start);
  off.addEventListener("click", stop);
  shutter.addEventListener("click", take);
  addEventListener("keydown", (event) => {
    if (event.code !== "Space" || !stream || event.repeat || event.ctrlKey || event.altKey || event.metaKey) return;
    // Where a space is typed, or presses something else, it stays that.
    if (event.target.closest?.("input, textarea, select, summary, a, button:not(#shutter)")) return;
    event.preventDefault();
    take();
  });
  addEventListener("pagehide", () => { for (const track of stream?.getTracks() ?? []) track.stop(); });
})();
