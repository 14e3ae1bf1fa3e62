// A chart that is wider than its frame opens where the break is likeliest, where it tells one.
for (const chart of document.querySelectorAll(".chart")) {
  const hint = document.getElementById(chart.getAttribute("aria-describedby"))?.querySelector(".swipe");
  if (hint) hint.hidden = chart.scrollWidth <= chart.clientWidth;
  const likeliest = chart.querySelector(".likeliest")?.getBoundingClientRect();
  const frame = chart.getBoundingClientRect();
  if (likeliest) chart.scrollLeft = likeliest.x + likeliest.width / 2 - frame.x - frame.width / 2;
}

// A net lights up in both charts and in the table of nets when one of its contacts, or its rail, is pointed at, tapped
// or focused; a line above the charts tells what it is. A tap or Enter keeps it lit, Escape lets go.
// Without this script the charts and the table say the same, unlit.
(() => {
  const line = document.getElementById("lit-line");
  const charts = [...document.querySelectorAll(".charts .chart")];
  if (!line || !charts.length) return;
  const invitation = line.textContent;
  const contactNames = new Map();
  document.querySelectorAll("#lit-contacts [data-contact]").forEach((item) => contactNames.set(item.dataset.contact, item.textContent));
  const rows = new Map();
  document.querySelectorAll("[data-net]").forEach((row) => rows.set(row.dataset.net, row));
  const nothing = { contact: "", nets: [] };
  let kept = nothing;

  const classLike = (drawn, pattern) => [...drawn.classList].filter((name) => pattern.test(name));

  const meantBy = (target) => {
    const drawn = target.closest(".contact, .net");
    if (!drawn) return nothing;
    return { contact: classLike(drawn, /^contact-\d+$/)[0] || "", nets: classLike(drawn, /^net-\d+$/) };
  };

  const words = ({ contact, nets }) => {
    const name = contactNames.get(contact);
    const told = nets.map((net) => rows.get(net)?.dataset.told).filter(Boolean).join(" ");
    if (!name) return told || invitation;
    return `${name} – ${told || "in no net: not connected, or not read."}`;
  };

  const light = (meant) => {
    const names = meant.nets.length ? meant.nets : [meant.contact].filter(Boolean);
    for (const chart of charts) {
      chart.querySelectorAll(".lit").forEach((drawn) => drawn.classList.remove("lit"));
      names.forEach((name) => chart.querySelectorAll(`.${name}`).forEach((drawn) => drawn.classList.add("lit")));
      chart.classList.toggle("has-lit", names.length > 0);
    }
    rows.forEach((row, net) => row.classList.toggle("lit", meant.nets.includes(net)));
    const said = words(meant);
    if (line.textContent !== said) line.textContent = said;
  };

  const isSame = (one, other) => one.contact === other.contact && one.nets.join() === other.nets.join();

  const keep = (meant) => {
    kept = isSame(meant, kept) ? nothing : meant;
    light(kept);
  };

  // Of the pads that lie in the direction of an arrow key, the one that is nearest, straight ahead before aside.
  const nearest = (pads, from, [right, down]) => {
    const middle = (pad) => {
      const box = pad.getBoundingClientRect();
      return [box.x + box.width / 2, box.y + box.height / 2];
    };
    const [x, y] = middle(from);
    let best = from;
    let least = Infinity;
    for (const pad of pads) {
      const [padX, padY] = middle(pad);
      const ahead = (padX - x) * right + (padY - y) * down;
      const aside = Math.abs((padX - x) * down) + Math.abs((padY - y) * right);
      if (ahead > 1 && ahead + 3 * aside < least) [best, least] = [pad, ahead + 3 * aside];
    }
    return best;
  };

  const ARROWS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };

  for (const chart of charts) {
    const pads = [...chart.querySelectorAll(".contact")];
    chart.querySelector("svg")?.setAttribute("role", "group");
    pads.forEach((pad, place) => {
      pad.setAttribute("role", "button");
      pad.setAttribute("aria-label", contactNames.get(meantBy(pad).contact) || pad.textContent.trim());
      pad.setAttribute("tabindex", place ? "-1" : "0");
    });

    chart.addEventListener("pointerover", (event) => {
      const meant = meantBy(event.target);
      light(meant === nothing ? kept : meant);
    });
    chart.addEventListener("pointerleave", () => light(kept));
    chart.addEventListener("click", (event) => keep(meantBy(event.target)));
    chart.addEventListener("focusin", (event) => {
      if (!pads.includes(event.target)) return;
      pads.forEach((pad) => pad.setAttribute("tabindex", pad === event.target ? "0" : "-1"));
      light(meantBy(event.target));
    });
    chart.addEventListener("focusout", () => light(kept));
    chart.addEventListener("keydown", (event) => {
      if (event.key === "Escape") {
        kept = nothing;
        light(kept);
      }
      if (!pads.includes(event.target)) return;
      if (event.key in ARROWS) nearest(pads, event.target, ARROWS[event.key]).focus();
      else if (event.key === "Enter" || event.key === " ") keep(meantBy(event.target));
      else return;
      event.preventDefault();
    });
  }
  line.hidden = false;
})();
