// The measurement's script: dropping photographs, saying how many are chosen, saying that it works. Without it everything works all
// the same.
"use strict";

(() => {
  const drop = document.getElementById("measure-drop");
  if (!drop) return;
  const input = drop.querySelector("input");
  const chosen = document.getElementById("chosen");
  const busy = document.getElementById("measuring");
  const most = 3;

  const say = () => {
    const n = input.files.length;
    const words = n === 0 ? "" : n === 1 ? chosen.dataset.one : n > most ? chosen.dataset.most : chosen.dataset.many;
    chosen.textContent = words.replace("{n}", n);
  };
  input.addEventListener("change", say);

  let depth = 0;
  const over = (on) => drop.classList.toggle("over", on);
  drop.addEventListener("dragenter", (event) => { event.preventDefault(); depth += 1; over(true); });
  drop.addEventListener("dragover", (event) => event.preventDefault());
  drop.addEventListener("dragleave", () => { depth -= 1; if (depth <= 0) over(false); });
  drop.addEventListener("drop", (event) => {
    event.preventDefault();
    depth = 0;
    over(false);
    if (!event.dataTransfer.files.length) return;
    const taken = new DataTransfer();
    for (const file of event.dataTransfer.files) taken.items.add(file);
    input.files = taken.files;
    say();
    input.form.querySelector("button").focus();
  });
  input.form.addEventListener("submit", () => { busy.textContent = busy.dataset.busy; });
  // Coming back by the browser's own button, nothing is being measured.
  addEventListener("pageshow", () => { busy.textContent = ""; say(); });
})();
