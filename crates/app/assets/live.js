// The live face: the camera's picture, frames to the program on this machine, and what it says drawn over the picture. Nothing is kept:
// a frame is forgotten once it has been sent.
//
// Live.start({video, overlay, mirror, url, end, token, step, say, stats}) -> {stop(), pause(on), stats()}
//   video, overlay  the elements; the overlay is an svg that lies over the video
//   mirror          whether both are turned over as in a mirror (by style alone; the frames that are sent never are)
//   url, end        where frames go; where it is said that the camera was closed
//   step()          what to draw: {target, side, mark, pressure, movement, next: {…}}; null where nothing is to be drawn
//   say(answer)     after each answer; answer.says is empty where all is well
//   closed(why)     the camera was closed by itself: "gone" or "left"
// It rejects where there is no camera ("none") or it may not be used ("denied").

(() => {
  "use strict";
  const SVG = "http://www.w3.org/2000/svg";
  /** Frames are this wide at most, px. */
  const WIDE = 480;
  /** At most so many frames a second. */
  const MOST = 30;
  /** Without a face for so long, the camera is closed (ms): a picture that nobody looks at keeps the practice open. */
  const LEFT = 120000;
  /** So many of the last frames are counted. */
  const COUNTED = 120;
  const QUALITY = 0.85;

  async function camera(video) {
    if (!navigator.mediaDevices?.getUserMedia) throw new Error("none");
    let stream;
    try {
      stream = await navigator.mediaDevices.getUserMedia({
        video: { width: { ideal: 640 }, height: { ideal: 480 }, frameRate: { ideal: 30 }, facingMode: "user" }, audio: false,
      });
    } catch (error) {
      throw new Error(error.name === "NotAllowedError" ? "denied" : "none");
    }
    video.srcObject = stream;
    await video.play().catch(() => {});
    return stream;
  }

  /** The next frame of the video: when it was captured, by the page's clock. */
  const frame = (video) => new Promise((done) => {
    if (video.requestVideoFrameCallback) {
      video.requestVideoFrameCallback((now, about) => done(about.captureTime ?? about.presentationTime ?? now));
    } else {
      requestAnimationFrame(done);
    }
  });
  const painted = () => new Promise((done) => requestAnimationFrame(() => done(performance.now())));
  const wait = (ms) => new Promise((done) => setTimeout(done, ms));

  /** The address with what is to be drawn. */
  function asked(url, step) {
    const fields = new URLSearchParams();
    const put = (of, before) => {
      for (const name of ["target", "side", "mark", "pressure", "movement"]) {
        if (of?.[name] !== undefined && of[name] !== null) fields.set(before + name, of[name]);
      }
    };
    put(step, "");
    put(step?.next, "next_");
    return `${url}?${fields}`;
  }

  /** One step's marks, as the program made them. */
  function group(drawn, name) {
    const out = document.createElementNS(SVG, "g");
    out.setAttribute("class", name);
    if (!drawn) return out;
    out.setAttribute("data-target", drawn.target);
    const parsed = new DOMParser().parseFromString(`<svg xmlns="${SVG}">${drawn.art}</svg>`, "image/svg+xml");
    for (const child of [...parsed.documentElement.childNodes]) out.append(document.importNode(child, true));
    return out;
  }

  function draw(overlay, answer) {
    const [width, height] = answer.size;
    const box = `0 0 ${width} ${height}`;
    if (width && overlay.getAttribute("viewBox") !== box) overlay.setAttribute("viewBox", box);
    const art = [];
    if (answer.next) art.push(group(answer.next, "live-next"));
    if (answer.now) art.push(group(answer.now, answer.why === "hidden" ? "live-now live-hidden" : "live-now"));
    overlay.replaceChildren(...art);
  }

  const quantile = (list, share) => {
    const sorted = [...list].sort((a, b) => a - b);
    return sorted.length ? sorted[Math.min(sorted.length - 1, Math.floor(sorted.length * share))] : 0;
  };

  async function start({ video, overlay, mirror, url, end, token, step, say, closed }) {
    const stream = await camera(video);
    overlay.setAttribute("preserveAspectRatio", "xMidYMid meet");
    for (const element of [video, overlay]) element.classList.toggle("live-mirror", !!mirror);
    const canvas = document.createElement("canvas");
    const pen = canvas.getContext("2d", { alpha: false, willReadFrequently: true });
    const latencies = [];
    const drawnAt = [];
    let running = true;
    let paused = false;
    let seenAt = performance.now();
    // How long the program and the page usually take, ms: the next frame is made just before it can be sent, so that none grows old.
    let sent = 0;
    let asks = 0;
    let makes = 0;

    const live = {
      /** Closes the camera. */
      stop() {
        if (!running) return;
        running = false;
        for (const track of stream.getTracks()) track.stop();
        video.srcObject = null;
        overlay.replaceChildren();
        if (end) fetch(end, { method: "POST", headers: { "x-token": token } }).catch(() => {});
      },
      /** Holds on, and goes on again; the picture goes on. */
      pause(on) {
        paused = on;
        if (on) overlay.replaceChildren();
      },
      /** Drawn frames a second over the last seconds; the latencies, the middle and what 19 of 20 are below, ms; how long the page takes to
          make a frame ready and the program to answer, ms. */
      stats() {
        const since = performance.now() - 4000;
        const last = drawnAt.filter((t) => t > since);
        const span = last.length > 1 ? last[last.length - 1] - last[0] : 0;
        return {
          frames: last.length, fps: span ? ((last.length - 1) * 1000) / span : 0,
          latency: quantile(latencies, 0.5), worst: quantile(latencies, 0.95), make: makes, ask: asks,
        };
      },
    };
    const close = (why) => { live.stop(); closed?.(why); };
    stream.getVideoTracks()[0]?.addEventListener("ended", () => { if (running) close("gone"); });

    /** The frame, small, as it is sent. */
    async function taken() {
      const wide = Math.min(WIDE, video.videoWidth);
      const tall = Math.round((wide * video.videoHeight) / video.videoWidth);
      if (canvas.width !== wide || canvas.height !== tall) { canvas.width = wide; canvas.height = tall; }
      pen.drawImage(video, 0, 0, wide, tall);
      return new Promise((done) => canvas.toBlob(done, "image/jpeg", QUALITY));
    }

    async function ask({ body, captured, want }) {
      const answered = await fetch(asked(url, want), { method: "POST", body, headers: { "x-token": token, "content-type": "image/jpeg" } });
      if (!running || answered.status === 429) return;
      if (answered.redirected || !answered.headers.get("content-type")?.startsWith("application/json")) {
        close("gone");
        return;
      }
      const answer = await answered.json();
      if (!running || paused) return;
      draw(overlay, answer);
      painted().then((now) => {
        if (!answer.now) return;
        drawnAt.push(now);
        latencies.push(now - captured);
        if (drawnAt.length > COUNTED) { drawnAt.shift(); latencies.shift(); }
      });
      const now = performance.now();
      if (answer.seen) seenAt = now;
      say?.(answer, live);
      if (now - seenAt > LEFT) close("left");
    }

    // While the program looks at one frame, the next is made ready: two cores, two works. There is never more than one of each.
    let making = false;
    let ready = null;
    let asking = false;
    let failed = 0;
    let begun = -Infinity;
    const usual = (before, now) => (before ? before * 0.8 + now * 0.2 : now);
    async function send() {
      if (asking || !ready || !running) return;
      const frame = ready;
      ready = null;
      asking = true;
      sent = performance.now();
      try {
        await ask(frame);
        asks = usual(asks, performance.now() - sent);
        failed = 0;
      } catch {
        failed += 1;
        if (failed > 5 && running) close("gone");
        await wait(200);
      }
      asking = false;
      send();
    }
    async function make(captured) {
      const now = performance.now();
      if (making || ready || now - begun < 1000 / MOST - 6) return;
      if (asking && now - sent < asks - makes - 8) return;
      making = true;
      begun = now;
      const want = step?.() ?? null;
      const body = await taken();
      making = false;
      makes = usual(makes, performance.now() - begun);
      if (!body || !running || paused) return;
      ready = { body, captured, want };
      send();
    }
    (async () => {
      while (running) {
        const captured = await frame(video);
        if (paused || document.hidden || !video.videoWidth) seenAt = performance.now();
        else make(captured);
      }
    })();
    addEventListener("pagehide", live.stop, { once: true });
    return live;
  }

  window.Live = { start };
})();
