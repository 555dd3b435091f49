// Help: what the marks of the drawing mean, a sentence for each cell, and a first visit of five steps that can be left at any time.

import { byId, capital, el, svg } from "./words.js";

const line = (className) => svg("svg", { class: "sample", viewBox: "0 0 11 4", "aria-hidden": "true" }, svg("path", { class: className, d: "M0 2H11" }));
const spot = (className, text = "") => el("span", { class: `legend-mark ${className}`, "aria-hidden": "true" }, text);

const MARKS = [
  [() => line("contour"), "edge to be cut, as drawn"],
  [() => line("wire pass-1"), "path of the wire's centre; each pass has its own line, the switches beside the drawing name them"],
  [() => spot("legend-kept"), "material that stays"],
  [() => spot("legend-kerf"), "what the rough cut clears away"],
  [() => spot("pin pin-error", "1"), "an error, by its number"],
  [() => spot("pin pin-warning", "2"), "a warning or note, by its number"],
  [() => spot("spot"), "place that the wire does not reach"],
  [() => spot("handle handle-start_mm"), "start of the wire: drag it"],
  [() => spot("handle handle-tab_at_mm"), "tab that holds the piece: drag it"],
  [() => spot("legend-wire"), "the wire, to scale, at the time of the clock"],
  [() => spot("day-running legend-day"), "hours in which the wire runs unattended"],
  [() => spot("day-attended legend-day"), "operator present"],
  [() => spot("day-waiting legend-day"), "nobody is there, and the machine waits"],
];

const TERMS = [
  ["kerf", "what the wire clears away: its diameter and the spark gap on both sides"],
  ["offset", "how far the wire's centre stays from the finished wall: half the wire, the spark gap, and the stock that is left"],
  ["skim", "a pass after the rough cut that takes little and makes wall and size better"],
  ["stock", "what a pass leaves on the wall for those after it"],
  ["slug", "what drops out of an opening"],
  ["tab", "a stretch that stays uncut and holds the piece until somebody has secured it"],
];

const STEPS = [
  ["cells", "The title block is the form: type what the print says. 3,5, 0.5in and 10thou are read as on the command line, and what was understood stands beside."],
  ["paper", "Drop a drawing on the sheet, or look at a part of the clock workshop. A click on a contour says what it is for."],
  ["stamp", "The answer is stamped on the sheet: state, time and cost, and the worst of what was found, with what may settle it."],
  ["player", "The wire's way moves: play it, or drag the clock. At a stop it waits and says what somebody has to do."],
  ["leaf-tabs", "Further sheets lie behind these names: questions, findings, passes, time, cost, files, and your own shop."],
];

export const buildHelp = (choices) => {
  const cells = choices.keys.filter(({ key }) => byId(`field-${key}`)).map(({ key, says }) => [byId(`field-${key}`).labels[0].textContent.split(/[:;[]/)[0].trim(), says.split(" [default: ").join("; if not given: ").replace(/\]$/, "")]);
  const list = (pairs) => el("dl", { class: "terms" }, pairs.flatMap(([name, words]) => [el("dt", {}, name), el("dd", {}, `${capital(words)}.`)]));
  const again = el("button", { type: "button", id: "tour-again" }, "Show the first visit again");
  again.addEventListener("click", () => tour(0));
  byId("help-body").replaceChildren(
    el("p", { class: "form-tools" }, again),
    el("p", {}, byId("view-keys").textContent),
    el("h3", {}, "Marks on the drawing"),
    el("ul", { class: "legend ink", role: "list" }, MARKS.map(([mark, words]) => el("li", {}, mark(), ` ${words}`))),
    el("h3", {}, "Terms"), list(TERMS),
    el("h3", {}, "Cells of the title block"), list(cells));
};

/** Shows a step of the first visit. */
const tour = (number) => {
  document.querySelectorAll(".toured").forEach((old) => old.classList.remove("toured"));
  const box = byId("tour");
  if (number >= STEPS.length) { box.hidden = true; return; }
  const [id, words] = STEPS[number];
  byId(id)?.classList.add("toured");
  const next = el("button", { type: "button" }, number + 1 < STEPS.length ? "Next" : "Done");
  next.addEventListener("click", () => tour(number + 1));
  const skip = el("button", { type: "button" }, "Skip");
  skip.addEventListener("click", () => tour(STEPS.length));
  box.replaceChildren(el("p", {}, el("b", {}, `${number + 1} of ${STEPS.length} `), words), el("p", { class: "form-tools" }, next, skip));
  box.hidden = false;
  next.focus({ preventScroll: true });
};

export const startTour = () => tour(0);
