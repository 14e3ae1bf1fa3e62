// A net lights up in both charts together when one of its contacts, or its rail, is pointed at; a tap keeps it lit.
// Without this script both charts read as they are.
(() => {
  const charts = [...document.querySelectorAll(".chart")];
  let kept = [];

  const namesOf = (target) => {
    const drawn = target.closest(".contact, .net");
    const names = drawn ? [...drawn.classList] : [];
    const nets = names.filter((name) => /^net-\d+$/.test(name));
    return nets.length ? nets : names.filter((name) => /^contact-\d+$/.test(name));
  };

  const light = (names) => {
    for (const chart of charts) {
      chart.querySelectorAll(".lit").forEach((drawn) => drawn.classList.remove("lit"));
      names.forEach((name) => chart.querySelectorAll(`.${name}`).forEach((drawn) => drawn.classList.add("lit")));
      chart.classList.toggle("has-lit", names.length > 0);
    }
  };

  for (const chart of charts) {
    chart.addEventListener("pointerover", (event) => {
      const names = namesOf(event.target);
      light(names.length ? names : kept);
    });
    chart.addEventListener("pointerleave", () => light(kept));
    chart.addEventListener("click", (event) => {
      const names = namesOf(event.target);
      kept = names.join() === kept.join() ? [] : names;
      light(kept);
    });
  }
})();
