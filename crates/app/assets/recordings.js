// An old recording: a step that is left out is struck at once.
"use strict";

for (const row of document.querySelectorAll(".heard tbody tr")) {
  row.addEventListener("change", (event) => {
    if (event.target.name === "out") row.classList.toggle("out", event.target.checked);
  });
}
