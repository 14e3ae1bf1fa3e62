// A tap on the strip of a section says where along it the cable failed: it chooses the section and fills in the metres.
// Without this script the strips are rulers, and both fields are filled in by hand.
(() => {
  const pick = document.querySelector(".pick");
  const where = document.getElementById(pick.dataset.where);
  const metres = document.getElementById(pick.dataset.metres);
  const EDGE = 12; // the drawing's own units, as in views/strip.py
  const SVG = "http://www.w3.org/2000/svg";

  pick.querySelector(".pick-hint").hidden = false;

  const mark = () => {
    pick.querySelectorAll(".strip-picked").forEach((drawn) => drawn.remove());
    for (const strip of pick.querySelectorAll("[data-section]")) {
      const typed = metres.value.trim().replace(",", ".");
      const at = Number(typed);
      if (where.value !== `section:${strip.dataset.section}` || typed === "" || !(at >= 0 && at <= strip.dataset.length)) continue;
      const bar = strip.querySelector(".strip-bar");
      const x = EDGE + (at / strip.dataset.length) * (strip.dataset.finish - EDGE);
      const drawn = document.createElementNS(SVG, "path");
      drawn.setAttribute("class", "strip-picked");
      drawn.setAttribute("d", `M${x} ${Number(bar.getAttribute("y")) - 8} v22`);
      bar.parentNode.append(drawn);
    }
  };

  for (const strip of pick.querySelectorAll("[data-section]")) {
    const svg = strip.querySelector("svg");
    svg.classList.add("strip-live");
    svg.addEventListener("click", (event) => {
      const box = svg.getBoundingClientRect();
      const x = ((event.clientX - box.left) / box.width) * svg.viewBox.baseVal.width;
      const share = Math.min(1, Math.max(0, (x - EDGE) / (strip.dataset.finish - EDGE)));
      where.value = `section:${strip.dataset.section}`;
      metres.value = (share * strip.dataset.length).toFixed(2);
      mark();
    });
  }
  where.addEventListener("change", () => {
    if (!where.value.startsWith("section:") || where.value.includes("@")) metres.value = "";
    mark();
  });
  metres.addEventListener("input", mark);
  mark();
})();
