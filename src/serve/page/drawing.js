// The drawing: moved, magnified, with pins that keep their size.

import { byId, el, inInch, lengthWords, putPicture, MM_PER_INCH } from "./words.js";

const CLOSEST_MM = 0.02;

/** What is seen: middle (sheet units) and sheet units across one CSS pixel. */
export const view = { x: 0, y: 0, per: 1 };
let picture = null;
let looks = 0;
let lie = { scale: 1, x: 0, y: 0, width: 1, height: 1, step: 0 };
let pins = [];
let spots = [];
let target = null;
const watchers = [];

const frame = () => byId("view");

/** Is told whenever the view changes. */
export const onView = (watcher) => watchers.push(watcher);

/** Sheet place of a point of the part, mm. */
export const place = ([x, y]) => [lie.width / 2 + (x - lie.x) * lie.scale, lie.height / 2 - (y - lie.y) * lie.scale];
/** Point of the part at a sheet place. */
export const partPoint = ([x, y]) => [lie.x + (x - lie.width / 2) / lie.scale, lie.y - (y - lie.height / 2) / lie.scale];
/** Millimetres of the part across `pixels`. */
export const mmAcross = (pixels) => pixels * view.per / lie.scale;
export const sheetScale = () => lie.scale;
/** Steps shorter than this, mm of the part, are drawn together; 0 where everything is drawn. */
export const drawnStep = () => lie.step;
export const pictureOf = () => picture;
/** Changes whenever the picture looks different. */
export const looksOf = () => looks;

const size = () => {
  const box = frame().getBoundingClientRect();
  return [Math.max(box.width, 1), Math.max(box.height, 1)];
};

const wholePer = () => {
  const [width, height] = size();
  return Math.max(lie.width / width, lie.height / height);
};

/** Pixel of the view at a sheet place. */
export const toPixels = ([x, y]) => {
  const [width, height] = size();
  return [width / 2 + (x - view.x) / view.per, height / 2 + (y - view.y) / view.per];
};

/** Sheet place under a pointer. */
export const under = (event) => {
  const box = frame().getBoundingClientRect();
  return [view.x + (event.clientX - box.left - box.width / 2) * view.per, view.y + (event.clientY - box.top - box.height / 2) * view.per];
};

export const draw = () => {
  if (!picture) return;
  const [width, height] = size();
  const box = [view.x - width / 2 * view.per, view.y - height / 2 * view.per, width * view.per, height * view.per];
  picture.setAttribute("viewBox", box.join(" "));
  const closer = wholePer() / view.per;
  frame().classList.toggle("near", closer > 6);
  // Dashes are laid along all of a path, seen or not: close by they would be millions.
  frame().classList.toggle("deep", closer > 20);
  drawPins(width, height);
  drawBar(byId("scale-bar"), mmAcross(width / 4), (mm) => mm * lie.scale / view.per);
  watchers.forEach((watcher) => watcher());
};

const drawPins = (width, height) => {
  const APART = 24;
  // One balloon speaks for those of its group near by.
  const ALIKE_APART = 130;
  const taken = [];
  for (const { at, element } of pins) {
    const [x, y] = toPixels(place(at));
    const seen = x > -4 && y > 4 && x < width + 4 && y < height + 24;
    const { finding } = element.dataset;
    const free = !taken.some(([a, b, other]) => Math.hypot(a - x, b - y) < (other === finding ? ALIKE_APART : APART));
    element.hidden = !(seen && (free || element.classList.contains("told")));
    if (!element.hidden) {
      taken.push([x, y, finding]);
      element.style.left = `${x}px`;
      element.style.top = `${y}px`;
    }
  }
  for (const { at, element } of spots.concat(target ?? [])) {
    const [x, y] = toPixels(place(at));
    element.style.left = `${x}px`;
    element.style.top = `${y}px`;
  }
};

/** Draws a bar of a round length of at most `mostMm`. */
export const drawBar = (bar, mostMm, pixels) => {
  const unit = inInch() ? MM_PER_INCH : 1;
  const most = mostMm / unit;
  const decade = 10 ** Math.floor(Math.log10(most));
  const round = [5, 2, 1].map((step) => step * decade).find((length) => length <= most) * unit;
  bar.style.width = `${pixels(round)}px`;
  bar.textContent = !inInch() && round < 0.5 ? `${Number((round * 1000).toPrecision(3))} µm` : lengthWords(round, 5);
};

/** All of the drawing is seen: it stays so in a window of another size. */
let seenWhole = true;

export const whole = () => { seenWhole = true; Object.assign(view, { x: lie.width / 2, y: lie.height / 2, per: wholePer() }); draw(); };

export const zoom = (factor, [x, y] = [view.x, view.y]) => {
  const closest = CLOSEST_MM * lie.scale / size()[0];
  const per = Math.min(wholePer(), Math.max(closest, view.per / factor));
  const share = per / view.per;
  view.x = x - (x - view.x) * share;
  view.y = y - (y - view.y) * share;
  view.per = per;
  seenWhole = per === wholePer();
  if (seenWhole) whole(); else draw();
};

export const move = (dx, dy) => { seenWhole = false; view.x += dx; view.y += dy; draw(); };

/** Shows a point of the part in the middle, `acrossMm` wide at most. */
export const goTo = (at, acrossMm) => {
  const [x, y] = place(at);
  const per = Math.min(view.per, acrossMm * lie.scale / size()[0]);
  Object.assign(view, { x, y, per });
  seenWhole = false;
  target?.element.remove();
  target = { at, element: el("span", { class: "target" }) };
  byId("pins").append(target.element);
  draw();
};

/** Shows another picture of the part; keeps what is seen where it is the same part. */
export const showPicture = (text, keepView) => {
  const old = { ...lie };
  const seen = partPoint([view.x, view.y]);
  picture = putPicture(byId("overlay"), text);
  looks += 1;
  picture.setAttribute("preserveAspectRatio", "xMidYMid meet");
  const [, , width, height] = picture.getAttribute("viewBox").split(" ").map(Number);
  const { scale, x, y, step } = picture.dataset;
  lie = { scale: Number(scale), x: Number(x), y: Number(y), width, height, step: Number(step) };
  if (keepView) {
    [view.x, view.y] = place(seen);
    view.per *= lie.scale / old.scale;
    if (seenWhole) { whole(); return; }
    draw();
  } else {
    whole();
  }
};

/** Pins at findings, a number a group, and spots where the wire does not reach; `tell` is called with the number and which of all findings it is. */
export const showPins = (findings, groups, unreached, tell) => {
  const MOST = 120;
  pins = groups
    .flatMap(({ number, severity, placed }) => placed.map((index) => ({ number, severity, index, at: findings[index].at_mm, message: findings[index].message })))
    .filter(({ at }) => at)
    .slice(0, MOST)
    .map(({ number, severity, index, at, message }) => {
      const element = el("button", {
        type: "button", class: `pin pin-${severity}`, title: message, "aria-label": `Finding ${number}, ${severity}: ${message}`,
      }, String(number));
      element.dataset.finding = number;
      element.addEventListener("click", () => tell(number, index));
      return { at, element };
    });
  spots = unreached.slice(0, MOST).map(({ at_mm: at }) => ({ at, element: el("span", { class: "spot" }) }));
  target = null;
  byId("pins").replaceChildren(...spots.map(({ element }) => element), ...pins.map(({ element }) => element));
  draw();
};

/** Marks the pins of a group of findings. */
export const tellPin = (number) => {
  for (const { element } of pins) element.classList.toggle("told", Number(element.dataset.finding) === number);
  draw();
};

/** Lights the stretch of a contour and pass; a pass of `null` lights all of them, no contour none. */
export const light = (contour, pass) => {
  looks += 1;
  picture?.querySelectorAll(".lit").forEach((line) => line.classList.remove("lit"));
  if (contour === undefined || !picture) return;
  const groups = pass === null ? "[data-pass]" : `[data-pass="${pass}"]`;
  for (const group of picture.querySelectorAll(groups)) {
    const lines = group.querySelectorAll(`[data-contour="${contour}"]`);
    // Of a very large drawing each pass is one line.
    (lines.length > 0 ? lines : group.querySelectorAll("path:not([data-contour])")).forEach((line) => line.classList.add("lit"));
  }
};

const mark = (word, ids) => {
  picture?.querySelectorAll(`.contour.${word}`).forEach((line) => line.classList.remove(word));
  for (const id of ids) picture?.querySelectorAll(`.contour[data-contour="${id}"]`).forEach((line) => line.classList.add(word));
};

/** Marks contours on the drawing. */
export const tellContour = (ids) => mark("told", ids);

/** Marks the contour that is pointed at, here or elsewhere. */
export const hoverContour = (ids) => mark("hovered", ids);

/** Shows or hides the paths of a pass. */
export const showPass = (group, pass, shown) => {
  const lines = picture?.querySelector(`[data-group="${group}"][data-pass="${pass}"]`);
  if (shown) lines?.removeAttribute("display"); else lines?.setAttribute("display", "none");
  looks += 1;
};

/** Listens to pointer, wheel and keys; `clicked` gets the number of a contour and where, `pointed` the number of a contour or nothing. */
export const listen = (clicked, pointed) => {
  const held = new Map();
  let moved = 0;
  let apart = 0;
  frame().addEventListener("wheel", (event) => {
    event.preventDefault();
    zoom(Math.exp(-event.deltaY * (event.deltaMode === 1 ? 0.05 : 0.0018)), under(event));
  }, { passive: false });
  frame().addEventListener("pointerdown", (event) => {
    if (event.target.closest("button")) return;
    held.set(event.pointerId, event);
    moved = 0;
    apart = 0;
  });
  frame().addEventListener("pointermove", (event) => {
    const before = held.get(event.pointerId);
    if (!before) return;
    held.set(event.pointerId, event);
    const [dx, dy] = [event.clientX - before.clientX, event.clientY - before.clientY];
    moved += Math.abs(dx) + Math.abs(dy);
    // A click must reach the contour below it, so that the pointer is held only once it drags.
    if (moved > 4 && (event.pointerType !== "touch" || held.size > 1) && !frame().hasPointerCapture(event.pointerId)) frame().setPointerCapture(event.pointerId);
    if (held.size === 1) {
      // One finger scrolls the page.
      if (event.pointerType !== "touch") move(-dx * view.per, -dy * view.per);
      return;
    }
    const [a, b] = [...held.values()];
    const now = Math.hypot(a.clientX - b.clientX, a.clientY - b.clientY);
    const middle = { clientX: (a.clientX + b.clientX) / 2, clientY: (a.clientY + b.clientY) / 2 };
    if (apart > 0 && now > 0) zoom(now / apart, under(middle));
    apart = now;
  });
  // Two fingers are ours, one is the browser's.
  for (const name of ["touchstart", "touchmove"]) {
    frame().addEventListener(name, (event) => { if (event.cancelable && event.touches.length > 1) event.preventDefault(); }, { passive: false });
  }
  for (const name of ["pointerup", "pointercancel"]) {
    frame().addEventListener(name, (event) => { held.delete(event.pointerId); apart = 0; });
  }
  frame().addEventListener("click", (event) => {
    const contour = event.target.closest?.(".contour[data-contour]");
    if (contour && moved <= 4) clicked(Number(contour.dataset.contour), [event.clientX, event.clientY]);
  });
  frame().addEventListener("pointerover", (event) => {
    const contour = event.target.closest?.(".contour[data-contour]");
    pointed(contour ? Number(contour.dataset.contour) : undefined);
  });
  frame().addEventListener("pointerleave", () => pointed(undefined));
  const clickAt = (contour) => {
    const box = frame().getBoundingClientRect();
    if (contour) clicked(Number(contour.dataset.contour), [box.left + box.width / 2, box.top + box.height / 3]);
  };
  frame().addEventListener("keydown", (event) => {
    if (event.target !== frame() || event.ctrlKey || event.metaKey || event.altKey) return;
    const step = size()[0] * view.per / 10;
    const action = {
      Enter: () => clickAt(frame().querySelector(".contour.told, .contour[data-contour]")),
      ArrowLeft: () => move(-step, 0), ArrowRight: () => move(step, 0), ArrowUp: () => move(0, -step), ArrowDown: () => move(0, step),
      "+": () => zoom(1.6), "=": () => zoom(1.6), "-": () => zoom(1 / 1.6), 0: whole,
    }[event.key];
    if (action) { event.preventDefault(); action(); }
  });
  for (const button of document.querySelectorAll("[data-zoom]")) {
    const factor = Number(button.dataset.zoom);
    button.addEventListener("click", () => { if (factor === 0) whole(); else zoom(factor); });
  }
  // What was seen whole stays whole in another size.
  new ResizeObserver(() => { if (picture && !frame().hidden) { if (seenWhole) whole(); else zoom(1); } }).observe(frame());
};
