// The editor: looks at the routine as it is written, moves steps by dragging, finds a place as one types. Without it every button asks
// the desk for the whole page.
"use strict";

(() => {
  const form = document.getElementById("editor");
  if (!form) return;
  const one = (id) => document.getElementById(id);
  const parts = ["ed-total", "ed-verdict", "ed-steps", "ed-picture", "ed-drafted"];
  let latest = 0;

  /** Asks with what the form holds; what changes is put in place, and the keyboard stays where it was. */
  async function ask(action, focus) {
    const mine = (latest += 1);
    const body = new URLSearchParams(new FormData(form));
    body.append("do", action);
    const kept = document.activeElement?.id;
    const open = [...form.querySelectorAll("details[open][id]")].map((d) => d.id);
    let text = "";
    try {
      const answer = await fetch(form.action, { method: "POST", body, headers: { "x-part": "1", "x-token": body.get("token") } });
      text = await answer.text();
      if (!answer.ok || text.trimStart().toLowerCase().startsWith("<!doctype")) throw new Error("a whole page");
    } catch {
      // The locked page, or an error: the form goes there as a form, with everything in it.
      const button = document.createElement("button");
      button.name = "do";
      button.value = action;
      button.hidden = true;
      form.append(button);
      form.requestSubmit(button);
      return;
    }
    if (mine !== latest) return;
    const fresh = document.createElement("template");
    fresh.innerHTML = text;
    for (const id of parts) {
      const [old, now] = [one(id), fresh.content.getElementById(id)];
      if (!old || !now) continue;
      if (id === "ed-drafted" && action !== "draft" && action !== "take") continue;
      old.replaceChildren(...now.childNodes);
      if (now.dataset.at !== undefined) old.dataset.at = now.dataset.at;
      else delete old.dataset.at;
    }
    for (const id of open) one(id)?.setAttribute("open", "");
    drags();
    const at = one("ed-steps").dataset.at;
    const wanted = focus?.(at) ?? (kept ? one(kept) : null);
    wanted?.focus({ preventScroll: wanted.id === kept });
    one("ed-told").textContent = `${one("ed-total").textContent} ${one("ed-verdict").querySelector("h2, p")?.textContent ?? ""}`;
  }

  const summary = (at) => (at === undefined ? null : form.querySelector(`#step-${Number(at) + 1} summary`));

  form.addEventListener("change", (event) => {
    if (event.target.id === "place" || event.target.id === "place-find" || event.target.name === "name") return;
    if (event.target.name === "concern" || event.target.name === "both") return;
    ask("check");
  });

  form.addEventListener("submit", (event) => {
    const action = event.submitter?.value ?? "check";
    if (action === "save" || event.submitter?.hidden) return;
    event.preventDefault();
    const [what, number] = action.split(".");
    const focus = {
      up: (at) => one(`up-${Number(at) + 1}`),
      down: (at) => one(`down-${Number(at) + 1}`),
      add: () => one("place"),
      draft: () => one("ed-drafted").querySelector("button") ?? one("ed-drafted"),
      repair: () => form.querySelector(".ed-breaches button") ?? one("place"),
    }[what];
    ask(action, (at) => {
      const found = focus?.(at);
      return found && !found.disabled ? found : (summary(at) ?? one("place"));
    });
    if (what === "take") one("ed-drafted").replaceChildren();
    void number;
  });

  // ---- dragging ---------------------------------------------------------------------------------------------------
  let dragged = null;
  function drags() {
    for (const row of form.querySelectorAll(".ed-step")) {
      row.draggable = true;
      row.addEventListener("dragstart", (event) => {
        dragged = row;
        event.dataTransfer.effectAllowed = "move";
        event.dataTransfer.setData("text/plain", row.dataset.index);
      });
      row.addEventListener("dragover", (event) => {
        if (!dragged) return;
        event.preventDefault();
        row.classList.add("over");
      });
      row.addEventListener("dragleave", () => row.classList.remove("over"));
      row.addEventListener("drop", (event) => {
        event.preventDefault();
        row.classList.remove("over");
        if (dragged && dragged !== row) ask(`move.${dragged.dataset.index}.${row.dataset.index}`, summary);
        dragged = null;
      });
    }
  }
  drags();

  // ---- a place by its words ---------------------------------------------------------------------------------------
  const place = one("place");
  const find = one("place-find");
  one("place-finding").hidden = false;
  const all = [...place.querySelectorAll("option")].map((o) => ({ o, group: o.parentElement, words: o.textContent.toLowerCase() }));
  find.addEventListener("input", () => {
    const words = find.value.toLowerCase().split(/\s+/).filter(Boolean);
    let first = null;
    for (const { o, group, words: text } of all) {
      const hit = o.value !== "" && words.every((w) => text.includes(w));
      o.hidden = words.length > 0 && !hit;
      o.disabled = o.hidden;
      if (hit && words.length > 0 && !first) first = o;
      if (group.tagName === "OPTGROUP") group.hidden = [...group.children].every((c) => c.hidden);
    }
    place.value = first?.value ?? "";
  });
  find.addEventListener("keydown", (event) => {
    if (event.key === "Enter") {
      event.preventDefault();
      if (place.value) ask("add", () => find);
    }
  });
})();
