// The wire's way, moving: one transparent canvas over the still sheet. What is cut is kept in a picture of its own, to which each
// frame adds only what is new.

import { onView, place, toPixels } from "./drawing.js";
import { pointAt, prepare, shareOf, stepAt, traceStep } from "./wire.js";
import { byId, el, minutesWords } from "./words.js";

const SPEEDS = [0.5, 1, 2, 5, 15, 60];
/** A whole order is shown in about so many seconds. */
const USUAL_SECONDS = 40;
const FADE_SECONDS = 0.6;
const ROUGH = "#7d8794";
const SKIM = "#3f6f57";
const WIRE = "#c0182b";

let way = null;
let minutes = 0;
let playing = false;
let speed = 1;
let frameBefore = 0;
let frames = [];
/** The picture of what is cut: on what, seen how, until when. */
let kerf = { canvas: null, until: -1, seen: "" };
/** When pieces were taken out, by the clock of the browser: they fade. */
let gone = new Map();
let told = -1;
/** The step that goes on; of those that begin together the one that was gone to. */
let current = 0;

const canvas = () => byId("wire-way");
const slider = () => byId("clock");
const steady = () => matchMedia("(prefers-reduced-motion: reduce)").matches;

/** From mm of the part to pixels of the canvas. */
const transform = () => {
  const dots = devicePixelRatio;
  const [x0, y0] = toPixels(place([0, 0]));
  const [x1] = toPixels(place([1, 0]));
  return [(x1 - x0) * dots, x0 * dots, y0 * dots];
};

const stroke = (context, path, step, scale) => {
  context.strokeStyle = step.pass === 1 ? ROUGH : SKIM;
  context.lineWidth = Math.max(step.kerf, 1.2 / scale);
  context.stroke(path);
};

/** Brings the picture of what is cut to the clock. */
const cutUntil = (until, [scale, x, y]) => {
  const seen = [scale, x, y, canvas().width, canvas().height].join();
  if (!kerf.canvas || kerf.seen !== seen || until < kerf.until) {
    kerf.canvas ??= document.createElement("canvas");
    [kerf.canvas.width, kerf.canvas.height] = [canvas().width, canvas().height];
    kerf.seen = seen;
    kerf.until = -1;
  }
  const context = kerf.canvas.getContext("2d");
  context.setTransform(scale, 0, 0, -scale, x, y);
  context.lineCap = "round";
  context.lineJoin = "round";
  const last = current;
  for (let i = kerf.until < 0 ? 0 : stepAt(way, kerf.until); i <= last; i++) {
    const step = way.steps[i];
    if (!step.cuts) continue;
    const [from, to] = [kerf.until < 0 ? 0 : shareOf(step, kerf.until), shareOf(step, until)];
    if (to <= from) continue;
    const path = new Path2D();
    traceStep(path, step, from, to);
    stroke(context, path, step, scale);
  }
  kerf.until = until;
};

const draw = () => {
  if (!way) return;
  const box = canvas().getBoundingClientRect();
  const size = [Math.round(box.width * devicePixelRatio), Math.round(box.height * devicePixelRatio)];
  if (canvas().width !== size[0] || canvas().height !== size[1]) [canvas().width, canvas().height] = size;
  const context = canvas().getContext("2d");
  context.setTransform(1, 0, 0, 1, 0, 0);
  context.clearRect(0, 0, ...size);
  // Before anything is cut the sheet is as it was.
  if (minutes <= 0) { kerf.until = -1; kerf.seen = ""; return; }
  const [scale, x, y] = transform();
  cutUntil(minutes, [scale, x, y]);
  context.globalAlpha = 0.75;
  context.drawImage(kerf.canvas, 0, 0);
  context.globalAlpha = 1;
  context.setTransform(scale, 0, 0, -scale, x, y);
  drawGone(context);
  drawWire(context, scale);
};

const drawGone = (context) => {
  const now = performance.now();
  for (const step of way.steps) {
    if (step.from_minutes > minutes) break;
    if (step.kind !== "remove" || step.ends > minutes + 1e-9) continue;
    const piece = way.pieces[step.piece];
    if (!gone.has(step)) gone.set(step, playing ? now : -Infinity);
    context.globalAlpha = Math.min(1, (now - gone.get(step)) / 1000 / FADE_SECONDS);
    context.fillStyle = getComputedStyle(document.documentElement).getPropertyValue("--sheet");
    context.fill(piece.path, "evenodd");
  }
  for (const step of gone.keys()) if (step.ends > minutes + 1e-9) gone.delete(step);
  context.globalAlpha = 1;
};

const drawWire = (context, scale) => {
  const i = current;
  const step = way.steps[i];
  let at = pointAt(step, shareOf(step, minutes));
  // Where the wire stands still, it stands where it came to.
  for (let k = i; !at && k >= 0; k--) at = pointAt(way.steps[k], 1);
  if (!at) return;
  context.fillStyle = WIRE;
  context.beginPath();
  context.arc(...at, way.wire_mm / 2, 0, 2 * Math.PI);
  context.fill();
  // Seen from afar the wire itself is less than a dot: a ring says where it is.
  context.strokeStyle = WIRE;
  context.lineWidth = 1.5 / scale * devicePixelRatio;
  context.beginPath();
  context.arc(...at, Math.max(way.wire_mm / 2, 7 * devicePixelRatio / scale), 0, 2 * Math.PI);
  context.stroke();
};

const tell = () => {
  const i = current;
  const step = way.steps[i];
  const setUp = minutes < way.steps[0].from_minutes;
  const words = setUp ? "Set-up" : step.words;
  byId("clock-words").textContent = `${minutesWords(minutes)} of ${minutesWords(way.end_minutes)}`;
  slider().value = minutes;
  const number = setUp ? -1 : i;
  if (number === told) return;
  told = number;
  byId("step-words").textContent = setUp ? words : `${i + 1} of ${way.steps.length} · contour ${step.contour}, pass ${step.pass}: ${words}`;
  slider().setAttribute("aria-valuetext", `${minutesWords(minutes)}, ${words}`);
};

/** Goes to a minute of the day, and to a step that begins then. */
const seek = (to, step) => {
  if (!way) return;
  minutes = Math.min(way.end_minutes, Math.max(0, to));
  current = step ?? stepAt(way, minutes);
  tell();
  draw();
};

const pause = () => {
  playing = false;
  byId("play").setAttribute("aria-pressed", "false");
  byId("play").textContent = "Play";
};

const frame = (now) => {
  if (!playing) return;
  // A frame may have begun before the button was pressed.
  const passed = Math.min(0.1, Math.max(0, (now - frameBefore) / 1000));
  frames.push(now - frameBefore);
  if (frames.length > 600) frames.shift();
  frameBefore = now;
  let next = minutes + passed * speed;
  // Nobody watches a machine that waits for the morning.
  const waiting = way.day.find((row) => row.is === "waiting" && row.from_minutes <= next && next < row.to_minutes);
  if (waiting) next = waiting.to_minutes;
  const stop = way.steps.findIndex((step, i) => step.stop && i > current && step.from_minutes >= minutes && step.from_minutes <= next);
  if (stop >= 0) {
    seek(way.steps[stop].from_minutes, stop);
    pause();
    byId("play").textContent = "Go on";
    byId("said").textContent = way.steps[stop].words;
    return;
  }
  seek(next);
  if (minutes >= way.end_minutes) { pause(); settle(); return; }
  requestAnimationFrame(frame);
};

/** Lets what fades fade to its end. */
const settle = () => {
  const until = performance.now() + 1000 * FADE_SECONDS;
  const again = () => { draw(); if (performance.now() < until && !playing) requestAnimationFrame(again); };
  requestAnimationFrame(again);
};

const play = () => {
  if (playing) { pause(); return; }
  if (minutes >= way.end_minutes) seek(0);
  // The set-up shows nothing that moves.
  if (minutes < way.steps[0].from_minutes) seek(way.steps[0].from_minutes);
  playing = true;
  byId("play").setAttribute("aria-pressed", "true");
  byId("play").textContent = "Pause";
  frames = [];
  frameBefore = performance.now();
  requestAnimationFrame(frame);
};

const toStep = (by) => {
  pause();
  const setUp = minutes < way.steps[0].from_minutes;
  const target = setUp ? 0 : Math.max(0, current + by);
  if (target >= way.steps.length) seek(way.end_minutes);
  else seek(way.steps[target].from_minutes, target);
};

/** The median of the last frames, milliseconds: what the tests measure. */
export const frameTime = () => [...frames].sort((a, b) => a - b)[Math.floor(frames.length / 2)];

/** The stops, without those that would stand on one another. */
const stopsApart = () => {
  const apart = way.end_minutes / 200;
  let before = -Infinity;
  return way.steps.filter(({ stop, from_minutes: from }) => {
    const shown = stop && from - before >= apart;
    if (shown) before = from;
    return shown;
  });
};

const showDay = () => {
  const share = (value) => `${(100 * value / way.end_minutes).toFixed(3)}%`;
  byId("track").replaceChildren(...way.day.map((row) => {
    const block = el("span", { class: `day-${row.is}` });
    block.style.left = share(row.from_minutes);
    block.style.width = share(row.to_minutes - row.from_minutes);
    return block;
  }), ...stopsApart().map((step) => {
    const tick = el("span", { class: "day-stop", title: step.words });
    tick.style.left = share(step.from_minutes);
    return tick;
  }));
};

/** Stops, and takes what was cut off the sheet: another plan is on its way. */
export const holdMotion = () => {
  if (!way) return;
  pause();
  seek(0);
};

/** Shows the way of a plan, or that there is none. */
export const showMotion = (motion) => {
  pause();
  way = motion && motion.steps.length > 0 ? prepare(motion) : null;
  [minutes, told, current] = [0, -2, 0];
  gone = new Map();
  kerf.until = -1;
  kerf.seen = "";
  byId("player").hidden = !way;
  if (!way) { canvas().getContext("2d").clearRect(0, 0, canvas().width, canvas().height); return; }
  slider().max = way.end_minutes;
  speed = SPEEDS.find((one) => way.end_minutes / one <= USUAL_SECONDS * 2) ?? SPEEDS.at(-1);
  byId("speed").value = String(speed);
  byId("play").hidden = steady();
  showDay();
  tell();
  draw();
};

export const listenPlayer = () => {
  byId("speed").replaceChildren(...SPEEDS.map((one) => el("option", { value: String(one) }, `${one} min a second`)));
  byId("play").addEventListener("click", play);
  byId("step-back").addEventListener("click", () => toStep(-1));
  byId("step-on").addEventListener("click", () => toStep(1));
  byId("speed").addEventListener("change", (event) => { speed = Number(event.target.value); });
  slider().addEventListener("input", () => { pause(); seek(slider().valueAsNumber); });
  onView(draw);
};

/** Point of the part under a place of the window. */
export const partUnder = ([clientX, clientY]) => {
  const box = canvas().getBoundingClientRect();
  const [x0, y0] = toPixels(place([0, 0]));
  const [x1] = toPixels(place([1, 0]));
  return [(clientX - box.left - x0) / (x1 - x0), -(clientY - box.top - y0) / (x1 - x0)];
};
