// A folder is sent in parts, so that it can be seen how far it is, and so that one interrupted part costs no more than itself. Without
// script the whole folder goes with the form.
"use strict";

(() => {
  const words = document.getElementById("in-words");
  const report = document.getElementById("report");
  if (!words || !report) return;
  const token = document.querySelector("meta[name=token]")?.content;
  const MOST_BYTES = 8 * 1024 * 1024;
  const say = (text, done, all) => text.replace("{done}", done).replaceAll("{all}", all);

  async function refresh(html) {
    const fresh = document.createElement("template");
    fresh.innerHTML = html;
    // Somebody may be typing whose a note is.
    if (report.contains(document.activeElement) && document.activeElement.matches("input")) return;
    report.replaceChildren(fresh.content);
    watch();
  }

  // While photographs are measured, the numbers follow.
  let waiting = null;
  function watch() {
    clearTimeout(waiting);
    if (Number(report.querySelector("[data-waiting]")?.dataset.waiting) > 0) {
      waiting = setTimeout(async () => {
        try {
          const answer = await fetch(report.dataset.from, { headers: { "x-part": "1" } });
          const text = await answer.text();
          if (answer.ok && !text.trimStart().toLowerCase().startsWith("<!doctype")) await refresh(text);
        } catch { watch(); }
      }, 2000);
    }
  }

  function parts(files, most) {
    const all = [[]];
    let bytes = 0;
    for (const file of files) {
      const last = all.at(-1);
      if (last.length && (last.length >= most || bytes + file.size > MOST_BYTES)) { all.push([file]); bytes = file.size; }
      else { last.push(file); bytes += file.size; }
    }
    return all.filter((part) => part.length);
  }

  for (const form of document.querySelectorAll("form.in-form")) {
    const progress = form.querySelector(".progress");
    const button = form.querySelector("button");
    form.addEventListener("submit", async (event) => {
      event.preventDefault();
      const inputs = [...form.querySelectorAll("input[type=file]")];
      const files = inputs.flatMap((input) => [...input.files]);
      if (!files.length) { progress.textContent = words.dataset.none; inputs[0].focus(); return; }
      button.disabled = true;
      let done = 0;
      progress.textContent = say(words.dataset.going, done, files.length);
      try {
        for (const part of parts(files, Number(form.dataset.most))) {
          const data = new FormData();
          for (const box of form.querySelectorAll("input[type=checkbox]:checked")) data.append(box.name, box.value);
          for (const file of part) data.append(inputs[0].name, file, file.webkitRelativePath || file.name);
          const answer = await fetch(form.action, { method: "POST", headers: { "x-part": "1", "x-token": token }, body: data });
          const text = await answer.text();
          if (!answer.ok || text.trimStart().toLowerCase().startsWith("<!doctype")) throw new Error(answer.status);
          done += part.length;
          progress.textContent = say(words.dataset.going, done, files.length);
          await refresh(text);
        }
        progress.textContent = say(words.dataset.done, done, files.length);
        form.reset();
      } catch {
        progress.textContent = say(words.dataset.stopped, done, files.length);
      }
      button.disabled = false;
    });
  }
  watch();
})();
