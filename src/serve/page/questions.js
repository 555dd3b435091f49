// What the drawing leaves open: a card a question, its readings as buttons. An answer is a purpose in the job, and can be taken back.

import { asked, put, putPart, putUse, useOf } from "./job.js";
import { byId, capital, el, plural } from "./words.js";

const ANSWERED = {
  cut: "cut", part: "part, the wire runs outside", opening: "opening, the wire runs inside", slit: "slit, one kerf wide", trim: "trim along an edge", existing: "already machined", "not-now": "not cut this time",
  "start-hole": "start hole, to be drilled", "ready-hole": "start hole, drilled already", blank: "outline of the blank", frame: "frame of the sheet",
  thread: "sign of a thread", reference: "for reference", ignore: "left out",
};

/** Names a layer or some contours, few of them one by one. */
const contourWords = (numbers) => {
  const NAMED = 12;
  const listed = numbers.slice(0, NAMED).join(", ");
  const more = numbers.length > NAMED ? ` and ${numbers.length - NAMED} more` : "";
  return `${numbers.length === 1 ? "Contour" : "Contours"} ${listed}${more}`;
};

/** Puts a reading into the job. */
const take = ({ purposes, layer }) => {
  if (layer !== null) putUse("layer", layer, purposes[0].purpose);
  else for (const { contour, purpose, keep_mm } of purposes) {
    putUse("contour", String(contour), purpose);
    putPart("contour", String(contour), "keep", keep_mm ?? "");
  }
};

const card = (question, number, changed, tell) => {
  const title = el("h3", { id: `question-${number}` }, `Question ${number}: ${question.asks}`);
  const readings = question.readings.map((reading, i) => {
    const taken = question.assumed && i === 0;
    const button = el("button", { type: "button", "aria-describedby": `question-${number}-${i}` }, capital(reading.says));
    button.addEventListener("click", () => { take(reading); changed(); });
    return el("li", {}, button, el("p", { class: "quiet", id: `question-${number}-${i}` }, `${taken ? "Assumed for now. " : ""}${capital(reading.means)}.`));
  });
  const mark = el("button", { type: "button", class: "mark" }, "Mark on the drawing");
  mark.addEventListener("click", () => tell(question.cases.flatMap(({ contours }) => contours)));
  const made = el("article", { class: question.assumed ? "question assumed" : "question", "aria-labelledby": `question-${number}` },
    title, el("p", { class: "quiet" }, `${capital(question.why)}.`), el("ul", { role: "list" }, readings), mark);
  return made;
};

/** What was given for single contours, each group with a way back. */
const answers = (changed) => {
  const byUse = new Map();
  for (const number of Object.keys(asked.job.contour ?? {})) {
    const use = useOf("contour", number);
    if (use) byUse.set(use, [...(byUse.get(use) ?? []), number]);
  }
  if (byUse.size === 0) return [];
  const rows = [...byUse].map(([use, numbers]) => {
    const words = `${contourWords(numbers)}: ${ANSWERED[use] ?? use}`;
    const forget = el("button", { type: "button", "aria-label": `Forget: ${words}` }, "Forget");
    forget.addEventListener("click", () => { for (const number of numbers) for (const key of ["use", "keep"]) putPart("contour", number, key, ""); changed(); });
    return el("li", {}, `${words} `, forget);
  });
  return [el("h3", {}, "Given"), el("ul", { class: "answers", role: "list" }, rows)];
};

/** Shows the questions and what was answered; `changed` after each answer, `tell` with contours to mark. Gives how many are open. */
export const showQuestions = (answer, changed, tell) => {
  const LISTED = 40;
  const list = answer.questions;
  const open = list.filter((question) => !question.assumed).length;
  const given = answers(changed);
  const parts = [];
  if (open > 0) {
    const all = el("button", { type: "button", id: "take-first" }, "Take the first reading of all");
    all.addEventListener("click", () => { put("assume_sides", "true"); changed(); });
    parts.push(el("p", {}, `${plural(open, "question")} open: no path and no price of these contours until each is answered. `), el("p", { class: "form-tools" }, all));
  } else if (list.length > 0) {
    const ask = el("button", { type: "button", id: "ask-again" }, "Forget the first readings");
    ask.addEventListener("click", () => { put("assume_sides", undefined); changed(); });
    parts.push(el("p", {}, `The first reading is taken of ${plural(list.length, "question")}: check each before cutting. `), el("p", { class: "form-tools" }, ask));
  }
  parts.push(...list.slice(0, LISTED).map((question, i) => card(question, i + 1, changed, tell)));
  if (list.length > LISTED) parts.push(el("p", { class: "quiet" }, `… and ${list.length - LISTED} more; the JSON lists all.`));
  byId("questions-body").replaceChildren(...parts, ...given);
  return list.length + given.length > 0 ? open : 0;
};
