// The drawn face can be tapped: the two numbers below it are filled in. Without script they are typed.
(() => {
  const box = document.querySelector(".tap-face");
  const svg = box && box.querySelector(".tap svg");
  const across = document.getElementById("mm_across"), up = document.getElementById("mm_up");
  if (!svg || !across || !up) return;
  const pupils = Number(box.dataset.pupils), told = document.getElementById("tap-told"), sides = document.getElementById("sides");
  // Twenty units of the drawing are a centimetre; upward is minus.
  const MM = 2;
  const rings = [1, -1].map(() => {
    const ring = document.createElementNS("http://www.w3.org/2000/svg", "circle");
    ring.setAttribute("r", "6");
    ring.setAttribute("class", "tap-here");
    ring.setAttribute("visibility", "hidden");
    svg.append(ring);
    return ring;
  });
  const number = (field) => Number(field.value.trim().replace(",", "."));
  const show = () => {
    const there = across.value.trim() !== "" && up.value.trim() !== "" && Number.isFinite(number(across)) && Number.isFinite(number(up));
    rings.forEach((ring, i) => {
      ring.setAttribute("visibility", there ? "visible" : "hidden");
      if (!there) return;
      ring.setAttribute("cx", String((i ? -1 : 1) * number(across) * MM));
      ring.setAttribute("cy", String(-(number(up) + pupils) * MM));
    });
  };
  svg.addEventListener("click", (event) => {
    const matrix = svg.getScreenCTM();
    if (!matrix) return;
    const at = new DOMPoint(event.clientX, event.clientY).matrixTransform(matrix.inverse());
    const middle = sides && sides.value === "midline";
    across.value = middle ? "0" : (Math.abs(at.x) / MM).toFixed(1);
    up.value = (-at.y / MM - pupils).toFixed(1);
    if (told) told.textContent = told.dataset.told.replace("{across}", across.value).replace("{up}", up.value);
    show();
  });
  [across, up].forEach((field) => field.addEventListener("input", show));
  box.classList.add("tap-ready");
  show();
})();
