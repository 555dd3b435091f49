// Measuring on the drawing: the distance of two places, the radius of an arc. Ends of lines and arcs draw the pointer to them.

import { onView, partPoint, pictureOf, place, sheetScale, toPixels, under } from "./drawing.js";
import { byId, el, lengthWords } from "./words.js";

const NEAR_PIXELS = 10;
const NUMBER = /-?\d+(?:\.\d+)?(?:e-?\d+)?/gi;

let on = false;
let ends = [];
let looked = null;
let corners = [];
let wireMm = 0;

/** Ends and arcs of all contours, in sheet units. */
const look = () => {
  if (looked === pictureOf()) return;
  looked = pictureOf();
  corners = [];
  for (const line of looked.querySelectorAll(".contour")) {
    let before = null;
    for (const [, letter, rest] of (line.getAttribute("d") ?? "").matchAll(/([MLAZ])([^MLAZ]*)/g)) {
      const numbers = (rest.match(NUMBER) ?? []).map(Number);
      if (numbers.length < 2) continue;
      const at = numbers.slice(-2);
      if (letter === "A") corners.push({ at: [(before[0] + at[0]) / 2, (before[1] + at[1]) / 2], ends: [before, at], radius: numbers[0], large: numbers[3] === 1, sweep: numbers[4] === 1 });
      corners.push({ at });
      before = at;
    }
  }
};

const near = (event) => {
  look();
  const pointer = under(event);
  const pixel = toPixels(pointer);
  let best = { at: pointer, distance: NEAR_PIXELS };
  for (const corner of corners) {
    if (corner.radius) continue;
    const [x, y] = toPixels(corner.at);
    const distance = Math.hypot(x - pixel[0], y - pixel[1]);
    if (distance < best.distance) best = { at: corner.at, distance, snapped: true };
  }
  return best;
};

/** The arc that the pointer is on. */
const arcUnder = (event) => {
  look();
  const [x, y] = under(event);
  const reach = NEAR_PIXELS * (under({ clientX: event.clientX + 1, clientY: event.clientY })[0] - x);
  return corners.filter(({ radius }) => radius).map((arc) => {
    const [[ax, ay], [bx, by]] = arc.ends;
    const half = Math.hypot(bx - ax, by - ay) / 2;
    const off = Math.sqrt(Math.max(0, arc.radius ** 2 - half ** 2)) * (arc.large === arc.sweep ? -1 : 1);
    const [cx, cy] = [(ax + bx) / 2 - off * (by - ay) / (2 * half), (ay + by) / 2 + off * (bx - ax) / (2 * half)];
    return { radius: arc.radius, away: Math.abs(Math.hypot(x - cx, y - cy) - arc.radius), beside: Math.hypot(x - arc.at[0], y - arc.at[1]) };
  }).filter(({ away, radius, beside }) => away < reach && beside < 2.2 * radius).sort((a, b) => a.away - b.away)[0];
};

const marks = () => byId("view").querySelectorAll(".measure-mark");

const put = () => marks().forEach((mark, i) => {
  const [x, y] = toPixels(place(ends[i]));
  mark.style.left = `${x}px`;
  mark.style.top = `${y}px`;
});

const say = (words) => { byId("measured").textContent = words; };

const click = (event) => {
  if (!on || event.target.closest("button")) return;
  event.stopPropagation();
  const { at, snapped } = near(event);
  const arc = snapped ? undefined : arcUnder(event);
  if (ends.length > 1) ends = [];
  ends.push(partPoint(at));
  marks().forEach((mark) => mark.remove());
  byId("view").append(...ends.map(() => el("span", { class: "measure-mark" })));
  put();
  const radius = arc ? `Radius ${lengthWords(arc.radius / sheetScale(), 3)}. ` : "";
  const wire = wireMm ? ` The wire is ${lengthWords(wireMm, 3)} across.` : "";
  if (ends.length === 1) { say(`${radius}From x ${lengthWords(ends[0][0], 3)}, y ${lengthWords(ends[0][1], 3)}${snapped ? " (an end)" : ""}: click the other place.${wire}`); return; }
  const [[ax, ay], [bx, by]] = ends;
  say(`${radius}Distance ${lengthWords(Math.hypot(bx - ax, by - ay), 3)}: ${lengthWords(Math.abs(bx - ax), 3)} across, ${lengthWords(Math.abs(by - ay), 3)} up, as near as the picture shows it.`);
};

/** Says how wide the wire is. */
export const measureWire = (mm) => { wireMm = mm; };

export const listenMeasure = () => {
  const button = byId("measure-switch");
  button.addEventListener("click", () => {
    on = !on;
    ends = [];
    marks().forEach((mark) => mark.remove());
    button.setAttribute("aria-pressed", String(on));
    byId("measured").hidden = !on;
    byId("view").classList.toggle("measuring", on);
    say("Click two places, or an arc.");
  });
  byId("view").addEventListener("click", click, { capture: true });
  onView(put);
};
