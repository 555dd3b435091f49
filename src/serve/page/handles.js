// Start and tab on the drawing, which can be dragged to another place. Whether that is a legal one the plan says.

import { onView, place, toPixels } from "./drawing.js";
import { putPart } from "./job.js";
import { partUnder } from "./player.js";
import { byId, el, lengthWords, say } from "./words.js";

const MOST = 60;
let handles = [];

/** Handles that would cover one another stand side by side. */
const APART = 30;

const put = () => {
  const taken = [];
  for (const { at, element } of handles) {
    let [x, y] = toPixels(place(at));
    while (taken.some(([a, b]) => Math.hypot(a - x, b - y) < APART)) x += APART;
    taken.push([x, y]);
    element.style.left = `${x}px`;
    element.style.top = `${y}px`;
  }
};

/** A handle that puts `key` of a contour where it is dropped, or moved with the arrow keys. */
const handle = (contour, key, words, start, changed) => {
  const element = el("button", { type: "button", class: `handle handle-${key}`, title: `${words} of contour ${contour}: drag it`, "aria-label": `${words} of contour ${contour}, at x ${lengthWords(start[0], 3)}, y ${lengthWords(start[1], 3)}: drag it, or move it with the arrow keys` });
  const held = { at: [...start], element };
  const drop = () => {
    putPart("contour", String(contour), key, held.at.map((mm) => Number(mm.toFixed(3))));
    say(`${words} of contour ${contour} is wanted at x ${lengthWords(held.at[0], 3)}, y ${lengthWords(held.at[1], 3)}.`);
    changed();
  };
  element.addEventListener("pointerdown", (event) => { event.stopPropagation(); element.setPointerCapture(event.pointerId); });
  element.addEventListener("pointermove", (event) => {
    if (!element.hasPointerCapture(event.pointerId)) return;
    held.at = partUnder([event.clientX, event.clientY]);
    held.moved = true;
    put();
  });
  element.addEventListener("pointerup", () => { if (held.moved) drop(); held.moved = false; });
  element.addEventListener("keydown", (event) => {
    const step = { ArrowLeft: [-0.1, 0], ArrowRight: [0.1, 0], ArrowUp: [0, 0.1], ArrowDown: [0, -0.1] }[event.key];
    if (!step) return;
    event.preventDefault();
    event.stopPropagation();
    held.at = [held.at[0] + step[0], held.at[1] + step[1]];
    put();
  });
  element.addEventListener("keyup", (event) => { if (/^Arrow/.test(event.key)) drop(); });
  return held;
};

/** Shows a handle at each start and tab; `changed` is called when one was moved. */
export const showHandles = (starts, pieces, changed) => {
  const of = starts.filter(({ origin }) => origin !== "edge").map(({ contour, at_mm: at }) => handle(contour, "start_mm", "Start", at, changed));
  const tabs = pieces.filter(({ tab_mm: at }) => at).map(({ contour, tab_mm: at }) => handle(contour, "tab_at_mm", "Tab", at, changed));
  handles = [...of, ...tabs].length > MOST ? [] : [...of, ...tabs];
  byId("view").querySelectorAll(".handle").forEach((old) => old.remove());
  byId("view").append(...handles.map(({ element }) => element));
  put();
};

export const listenHandles = () => onView(put);
