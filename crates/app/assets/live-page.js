// The page of the live face: its button, what is said, and the choice of a place.
(() => {
  "use strict";
  const root = document.querySelector("[data-live=root]");
  if (!root || !window.Live) return;
  const at = (name) => root.querySelector(`[data-live=${name}]`);
  const [on, off, said, stage, says, stats] = ["on", "off", "said", "stage", "says", "stats"].map(at);
  const token = document.querySelector("meta[name=token]")?.content ?? "";
  const pick = document.getElementById("live-pick");
  const target = document.getElementById("live-target");
  let live = null;

  const shown = () => document.getElementById("live-shown");
  const step = () => ({ target: shown().dataset.target, side: shown().dataset.side });

  /** Another place: its words and its drawing come from the program, the camera stays. */
  async function choose() {
    const address = `${pick.getAttribute("action")}?${new URLSearchParams(new FormData(pick))}`;
    const answered = await fetch(address);
    if (!answered.ok || answered.redirected) return location.assign(address);
    const there = new DOMParser().parseFromString(await answered.text(), "text/html").getElementById("live-shown");
    if (!there) return location.assign(address);
    shown().replaceWith(document.importNode(there, true));
    history.replaceState(null, "", address);
    sides();
  }

  /** What exists once has no side. */
  const sides = () => { document.getElementById("live-sides").hidden = shown().dataset.side === "midline"; };

  document.getElementById("live-show").hidden = true;
  pick.addEventListener("submit", (event) => { event.preventDefault(); choose(); });
  pick.addEventListener("change", choose);
  sides();

  let told = null;
  let counted = 0;
  function say(answer, running) {
    // Said anew only where it changes, so that it can be listened to.
    if (told !== answer.says) says.textContent = told = answer.says;
    if (performance.now() - counted < 500) return;
    counted = performance.now();
    const { fps, latency, worst } = running.stats();
    stats.textContent = root.dataset.numbers.replace("{fps}", fps.toFixed(0)).replace("{latency}", latency.toFixed(0))
      .replace("{worst}", worst.toFixed(0));
  }

  function closed(why) {
    live = null;
    stage.hidden = true;
    on.hidden = false;
    said.textContent = root.dataset[why] ?? "";
  }

  on.hidden = false;
  on.addEventListener("click", async () => {
    on.disabled = true;
    said.textContent = "";
    says.textContent = told = root.dataset.wait;
    try {
      live = await window.Live.start({
        video: at("video"), overlay: at("overlay"), mirror: true, url: root.dataset.frame, end: root.dataset.end, token, step, say, closed,
      });
      stage.hidden = false;
      on.hidden = true;
      off.focus();
    } catch (error) {
      said.textContent = root.dataset[error.message] ?? root.dataset.none;
    }
    on.disabled = false;
  });
  off.addEventListener("click", () => { live?.stop(); closed(""); on.focus(); });
  // Tests and the curious: the same numbers.
  window.livePage = { stats: () => live?.stats() };
})();
