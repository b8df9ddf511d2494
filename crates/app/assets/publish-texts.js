// A text is checked as it is written, and a safer wording taken into it at once. Without this each button asks the desk for the whole page.
"use strict";

(() => {
  const form = document.getElementById("text-form");
  if (!form) return;
  const body = document.getElementById("body");
  const result = document.getElementById("text-result");
  const told = document.getElementById("text-told");
  const found = () => document.getElementById("text-found");
  let checked = body.value;
  let asking = null;
  let timer = 0;

  /** Asks what is found in the form as it stands; the keyboard stays where it was. */
  async function look() {
    clearTimeout(timer);
    asking?.abort();
    const mine = (asking = new AbortController());
    const sent = body.value;
    const data = new FormData(form);
    data.delete("file");
    result.setAttribute("aria-busy", "true");
    try {
      const answer = await fetch(form.dataset.look, {
        method: "POST",
        body: new URLSearchParams(data),
        headers: { "x-part": "1", "x-token": data.get("token") },
        signal: mine.signal,
      });
      const text = await answer.text();
      if (!answer.ok || text.trimStart().toLowerCase().startsWith("<!doctype")) throw new Error("a whole page");
      const held = found().contains(document.activeElement) ? document.activeElement : null;
      const [id, name] = [held?.id, held?.getAttribute("aria-label")];
      const fresh = document.createElement("template");
      fresh.innerHTML = text;
      // The line that is read out stays where it is: only its words change.
      const now = fresh.content.getElementById("text-told").textContent;
      if (told.textContent !== now) told.textContent = now;
      found().replaceWith(fresh.content.getElementById("text-found"));
      checked = sent;
      if (held && !held.isConnected) {
        const named = (e) => e.getAttribute("aria-label") === name;
        const again = (id && document.getElementById(id)) || (name && [...found().querySelectorAll("[aria-label]")].find(named));
        (again || body).focus({ preventScroll: true });
      }
      result.removeAttribute("aria-busy");
      return true;
    } catch (error) {
      if (error.name === "AbortError") return true;
      result.removeAttribute("aria-busy");
      return false;
    }
  }

  /** The practice locked itself, or the desk is gone: the form goes there as a form, with everything in it. */
  function asForm(button) {
    const what = document.createElement("input");
    [what.type, what.name, what.value] = ["hidden", button.name, button.value];
    form.append(what);
    form.submit();
  }

  // A long text takes longer to be looked through, so it waits for a longer rest.
  const soon = () => {
    clearTimeout(timer);
    timer = setTimeout(look, 400 + Math.min(2000, body.value.length / 100));
  };
  body.addEventListener("input", soon);
  form.addEventListener("change", (event) => {
    if (event.target.name === "country" || event.target.name === "kind") look();
  });

  /** Where a code point lies in the field, which counts in halves of some letters. */
  function halves(text) {
    const at = [0];
    for (const letter of text) at.push(at[at.length - 1] + letter.length);
    return at;
  }

  /** Puts the edits into the field from the last to the first, so that the browser can take each back. */
  function take(edits) {
    const at = halves(body.value);
    body.focus({ preventScroll: true });
    for (const [from, to, words] of [...edits].reverse()) {
      body.setSelectionRange(at[from], at[to]);
      if (words === "" ? !document.execCommand("delete") : !document.execCommand("insertText", false, words)) {
        body.setRangeText(words, at[from], at[to], "end");
      }
    }
  }

  form.addEventListener("submit", async (event) => {
    const button = event.submitter;
    if (button?.classList.contains("take")) {
      event.preventDefault();
      if (checked !== body.value) {
        // The text is another by now: what is offered is looked for anew.
        if (!(await look())) asForm(button);
        return;
      }
      const finding = button.closest(".finding")?.id;
      take(JSON.parse(button.dataset.edits));
      if (!(await look())) return;
      const next = (finding && document.getElementById(finding)) ?? found().querySelector(".finding") ?? body;
      next.focus();
    } else if (button?.value === "check") {
      event.preventDefault();
      if (!(await look())) asForm(button);
      else told.scrollIntoView({ block: "nearest" });
    }
  });

  // A file that was chosen for an empty field is brought at once.
  const file = document.getElementById("file");
  file?.addEventListener("change", () => {
    if (file.files.length === 1 && body.value.trim() === "") document.getElementById("bring").click();
  });

  // From a finding to its place and back: whatever is led to holds the keyboard.
  const led = () => {
    const to = location.hash.length > 1 && document.getElementById(location.hash.slice(1));
    if (to && result.contains(to)) to.focus();
  };
  addEventListener("hashchange", led);
  result.addEventListener("click", (event) => {
    const way = event.target.closest('a[href^="#"]');
    const to = way && document.getElementById(way.getAttribute("href").slice(1));
    if (!to) return;
    event.preventDefault();
    to.scrollIntoView({ block: "nearest" });
    to.focus({ preventScroll: true });
  });
})();
