"use strict";
// Ties steps to places on the map and back, filters lines, and draws maps when they are wanted.
// Without it everything is there but these: a map waits in a <noscript>, which a browser without
// scripts shows as it is, and which one with scripts takes for a text until it is drawn from it.
(() => {
  const draw = (map) => {
    const kept = map.querySelector("noscript");
    if (kept) map.innerHTML = kept.textContent;
  };
  const maps = [...document.querySelectorAll(".map")].filter((map) => map.querySelector("noscript"));
  const drawAll = () => maps.forEach(draw);
  addEventListener("beforeprint", drawAll);
  const seen = new IntersectionObserver((entries) => {
    for (const one of entries) if (one.isIntersecting) draw(one.target);
  }, { rootMargin: "100%" });
  for (const map of maps) seen.observe(map);
  for (const map of maps) {
    const button = document.createElement("button");
    button.type = "button";
    button.className = "larger";
    button.textContent = "Larger map";
    button.setAttribute("aria-pressed", "false");
    button.addEventListener("click", () => {
      const large = map.closest(".way, .chart").classList.toggle("large");
      button.setAttribute("aria-pressed", String(large));
    });
    (map.closest(".mapped") ?? map).before(button);
  }
  // The rest while nothing else is to be done, so that the browser's own search finds them too.
  const later = self.requestIdleCallback ?? ((work) => setTimeout(work, 200));
  const drawNext = (i) => {
    if (i >= maps.length) return;
    draw(maps[i]);
    later(() => drawNext(i + 1));
  };
  addEventListener("load", () => later(() => drawNext(0)));

  const finder = document.getElementById("find");
  const found = document.getElementById("found");
  let lines = [];
  let texts = [];  // read when first looked for something: reading all of them takes a while
  let waiting = 0;

  const filter = () => {
    waiting = 0;
    if (!lines.length) {
      lines = [...document.querySelectorAll("[data-find]")];
      texts = lines.map((line) => line.textContent.toLowerCase());
    }
    const words = finder.value.toLowerCase().split(/\s+/).filter(Boolean);
    let count = 0;
    lines.forEach((line, i) => {
      const shown = words.every((word) => texts[i].includes(word));
      line.hidden = !shown;
      count += shown ? 1 : 0;
    });
    document.body.classList.toggle("filtered", words.length > 0);
    found.textContent = words.length ? `${count} of ${lines.length} lines` : "";
  };
  finder.addEventListener("input", () => {
    if (!waiting) waiting = requestAnimationFrame(filter);
  });
  finder.addEventListener("keydown", (event) => {
    if (event.key === "Escape") {
      finder.value = "";
      filter();
    }
  });

  const calm = matchMedia("(prefers-reduced-motion: reduce)").matches;
  const partner = (part) => {
    const way = part.closest(".way");
    const step = part.dataset.step;
    draw(way.querySelector(".map"));
    return {
      way,
      button: way.querySelector(`button[data-step="${step}"]`),
      place: way.querySelector(`.place[data-step="${step}"]`),
    };
  };
  const choose = (part, bringList) => {
    const { way, button, place } = partner(part);
    for (const one of way.querySelectorAll(".lit")) one.classList.remove("lit");
    for (const one of way.querySelectorAll("[aria-current]")) one.removeAttribute("aria-current");
    place.classList.add("lit");
    button.setAttribute("aria-current", "step");
    if (bringList) button.focus({ preventScroll: true });
    const target = bringList ? button : place.querySelector("circle");
    target.scrollIntoView({
      block: "nearest", inline: "center", behavior: calm ? "auto" : "smooth",
    });
  };
  const touched = (event) => event.target.closest?.("[data-step]") ?? null;

  document.addEventListener("click", (event) => {
    const part = touched(event);
    if (part) choose(part, part.matches(".place"));
  });
  const near = (event, on) => {
    const part = touched(event);
    if (!part) return;
    const { button, place } = partner(part);
    button.classList.toggle("near", on);
    place.classList.toggle("near", on);
  };
  document.addEventListener("pointerover", (event) => near(event, true));
  document.addEventListener("pointerout", (event) => near(event, false));
  document.addEventListener("focusin", (event) => near(event, true));
  document.addEventListener("focusout", (event) => near(event, false));
})();
