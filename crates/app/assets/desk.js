// The practice: searching as one types, and the lock that waits while somebody is at work. Nothing here is needed to use a page.
"use strict";

(() => {
  const meta = (name) => document.querySelector(`meta[name=${name}]`)?.content;

  // ---- search as one types ----------------------------------------------------------------------------------------
  const find = document.getElementById("find");
  const found = document.getElementById("found");
  if (find && found) {
    const told = document.getElementById("found-told");
    find.form.querySelector("button").hidden = true;
    let asking = null;
    find.addEventListener("input", async () => {
      asking?.abort();
      asking = new AbortController();
      const address = `/clients?${new URLSearchParams({ find: find.value })}`;
      try {
        const answer = await fetch(address, { headers: { "x-part": "1" }, signal: asking.signal });
        const text = await answer.text();
        if (!answer.ok || text.trimStart().toLowerCase().startsWith("<!doctype")) {
          location.assign(address);
          return;
        }
        const fresh = document.createElement("template");
        fresh.innerHTML = text;
        found.replaceChildren(fresh.content);
        const n = found.querySelectorAll(".names li").length;
        told.textContent = n === 0 ? told.dataset.none : n === 1 ? told.dataset.one : told.dataset.many.replace("{n}", n);
      } catch (error) {
        if (error.name !== "AbortError") location.assign(address);
      }
    });
  }

  // ---- the lock ---------------------------------------------------------------------------------------------------
  // The page leaves when the practice locks itself, so that nothing stays on a screen that nobody looks at. Whoever types is at work.
  const seconds = Number(meta("locks-in"));
  if (seconds > 0) {
    let worked = Date.now();
    let told = Date.now();
    const work = async () => {
      worked = Date.now();
      if (worked - told < 30000) return;
      told = worked;
      await fetch("/touch", { method: "POST", headers: { "x-token": meta("token") } }).catch(() => {});
    };
    for (const kind of ["keydown", "pointerdown", "input"]) addEventListener(kind, work, { passive: true });
    setInterval(() => {
      if (Date.now() - Math.max(worked, told) > seconds * 1000 + 5000) {
        location.replace(`/unlock?${new URLSearchParams({ to: location.pathname + location.search })}`);
      }
    }, 2000);
  }
})();
