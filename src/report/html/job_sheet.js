"use strict";
(() => {
  const frame = document.querySelector(".job-paper");
  const svg = frame.querySelector("svg");
  const whole = svg.viewBox.baseVal;
  const home = [whole.x, whole.y, whole.width, whole.height];
  let view = home.slice();
  // What can be shown and left away: each pass, and all that is written on the part.
  const tools = document.querySelector(".job-tools");
  const switches = new Map();
  const offer = (key, words, parts) => {
    if (parts.length === 0) return;
    const button = document.createElement("button");
    button.type = "button";
    button.textContent = words;
    const set = (on) => {
      button.setAttribute("aria-pressed", String(on));
      parts.forEach((part) => { part.style.display = on ? "" : "none"; });
    };
    set(true);
    const toggle = () => set(button.getAttribute("aria-pressed") !== "true");
    button.addEventListener("click", toggle);
    tools.insertBefore(button, tools.lastElementChild);
    switches.set(key, { set, toggle });
  };
  const passes = [...svg.querySelectorAll("g[data-pass]")];
  [...new Set(passes.map((part) => part.dataset.pass))].forEach((pass) => {
    offer(pass, "Pass " + pass, passes.filter((part) => part.dataset.pass === pass));
  });
  const marks = ["contour-numbers", "stops-marked", "insets-marked", "findings-marked"];
  offer("m", "Marks", marks.map((id) => svg.getElementById(id)).filter((part) => part !== null));
  // Without this script the sheet is a plain picture.
  tools.hidden = false;
  frame.tabIndex = 0;
  frame.classList.add("job-moves");
  frame.setAttribute("aria-label", "Drawing sheet, can be moved and zoomed");
  const show = () => svg.setAttribute("viewBox", view.join(" "));
  const zoom = (factor, x, y) => {
    // From the whole sheet to a few hundredths of a millimetre across.
    const width = Math.min(home[2], Math.max(0.02, view[2] / factor));
    const scale = width / view[2];
    view = [x - (x - view[0]) * scale, y - (y - view[1]) * scale, width, view[3] * scale];
    if (width === home[2]) view = home.slice();
    show();
  };
  const middle = () => [view[0] + view[2] / 2, view[1] + view[3] / 2];
  const at = (event) => {
    const box = svg.getBoundingClientRect();
    return [view[0] + (event.clientX - box.left) / box.width * view[2],
      view[1] + (event.clientY - box.top) / box.height * view[3]];
  };
  const move = (x, y) => { view[0] += x; view[1] += y; show(); };
  document.querySelectorAll("[data-zoom]").forEach((button) => {
    button.addEventListener("click", () => {
      const factor = Number(button.dataset.zoom);
      if (factor === 0) { view = home.slice(); show(); } else { zoom(factor, ...middle()); }
    });
  });
  frame.addEventListener("wheel", (event) => {
    // Only once it is in use: a reader on the way down the page should not be caught.
    if (document.activeElement !== frame) return;
    event.preventDefault();
    zoom(event.deltaY < 0 ? 1.2 : 1 / 1.2, ...at(event));
  }, { passive: false });
  let held = null;
  frame.addEventListener("pointerdown", (event) => { held = at(event); frame.focus(); frame.setPointerCapture(event.pointerId); });
  frame.addEventListener("pointermove", (event) => {
    if (held === null) return;
    const [x, y] = at(event);
    move(held[0] - x, held[1] - y);
  });
  ["pointerup", "pointercancel"].forEach((name) => frame.addEventListener(name, () => { held = null; }));
  // On paper stands everything, whatever is left away on the screen.
  window.addEventListener("beforeprint", () => {
    view = home.slice();
    show();
    switches.forEach((one) => one.set(true));
  });
  frame.addEventListener("keydown", (event) => {
    const step = view[2] / 10;
    const keys = {
      ArrowLeft: () => move(-step, 0), ArrowRight: () => move(step, 0),
      ArrowUp: () => move(0, -step), ArrowDown: () => move(0, step),
      "+": () => zoom(1.5, ...middle()), "-": () => zoom(1 / 1.5, ...middle()),
      "0": () => { view = home.slice(); show(); },
    };
    const action = keys[event.key] || switches.get(event.key)?.toggle;
    if (action && !event.ctrlKey && !event.metaKey && !event.altKey) { event.preventDefault(); action(); }
  });
})();
