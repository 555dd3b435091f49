// The magnifier: a round window on the drawing that shows the micrometres between the passes.

import { byId, el, lengthWords, smallWords } from "./words.js";
import { drawBar, drawnStep, looksOf, onView, partPoint, pictureOf, sheetScale, under, view } from "./drawing.js";

const SOLID_BELOW_MM = 0.15;

let on = false;
let at = null;
let acrossMm = 0.6;
let passes = [];
let glass = null;
let looks = -1;

const range = () => byId("lens-range");

const drawNow = () => {
  if (!on || !pictureOf()) return;
  const [x, y] = at ?? [view.x, view.y];
  if (looks !== looksOf()) {
    looks = looksOf();
    glass = pictureOf().cloneNode(true);
    byId("lens-picture").replaceChildren(glass);
  }
  const across = acrossMm * sheetScale();
  // Dashes are laid along all of a path, seen or not.
  byId("lens").classList.toggle("deep", acrossMm < SOLID_BELOW_MM);
  glass.setAttribute("viewBox", `${x - across / 2} ${y - across / 2} ${across} ${across}`);
  const pixels = byId("lens").clientWidth || 1;
  drawBar(byId("lens-bar"), acrossMm / 3, (mm) => mm / acrossMm * pixels);
  const [px, py] = partPoint([x, y]);
  byId("lens-across").textContent = lengthWords(acrossMm, 3);
  byId("lens-words").querySelector("[data-place]").textContent = `x ${lengthWords(px, 4)}, y ${lengthWords(py, 4)}`;
};

/** The passes whose offsets are told beside the magnifier. */
export const magnify = (rows) => {
  passes = rows;
  const told = passes.map((row, i) => {
    const before = passes[i - 1];
    const nearer = before && before.group === row.group ? `, ${smallWords(before.offset_mm - row.offset_mm)} nearer than the pass before` : "";
    return el("div", {}, el("dt", {}, `${row.pass} ${row.kind}:`), el("dd", {}, `${smallWords(row.offset_mm)} from the wall${nearer}`));
  });
  const step = drawnStep();
  const coarse = step > 0 ? el("p", { "data-coarse": "" }, `This drawing is large: steps below ${smallWords(step)} are drawn together, and of the passes only the first and the last. The figures beside it and the files hold everything.`) : "";
  byId("lens-words").replaceChildren(
    coarse,
    el("p", {}, "Magnified at ", el("span", { "data-place": "" }), ". It follows the pointer; with keys it shows the middle of the drawing."),
    el("dl", {}, told),
  );
  drawNow();
};

export const listenMagnifier = () => {
  const button = byId("lens-switch");
  button.addEventListener("click", () => {
    on = !on;
    button.setAttribute("aria-pressed", String(on));
    for (const id of ["lens", "lens-size", "lens-words"]) byId(id).hidden = !on;
    at = null;
    drawNow();
  });
  const set = () => { acrossMm = 0.02 * (250 ** (range().value / 100)); drawNow(); };
  range().addEventListener("input", set);
  set();
  byId("view").addEventListener("pointermove", (event) => { at = under(event); drawNow(); });
  byId("view").addEventListener("keydown", () => { at = null; drawNow(); });
  onView(drawNow);
};
