// The chart of time against finish, in which picking a mark picks its plan, and the strip of the working day.

import { byId, el, putNamelessPicture } from "./words.js";

const BEST = 6;

/** A table of the best: those that nothing beats, in the order of time; `pick` takes a candidate. */
const showBest = ({ side_by_side: candidates, in_short: words }, pick) => {
  const unbeaten = candidates.map((candidate, i) => ({ candidate, i })).filter(({ candidate }) => candidate.possible && (candidate.non_dominated || candidate.chosen));
  const rank = ({ candidate }) => (candidate.chosen ? 0 : candidate.feasible ? 1 : 2);
  const best = unbeaten.sort((a, b) => rank(a) - rank(b) || a.candidate.minutes - b.candidate.minutes).slice(0, BEST);
  const rows = best.map(({ candidate, i }) => {
    const button = el("button", { type: "button", "aria-pressed": String(Boolean(candidate.chosen)) }, candidate.chosen ? "Planned" : "Plan it");
    button.addEventListener("click", () => pick(candidate));
    return el("tr", {}, el("th", { scope: "row" }, words[i].split(", order")[0]), el("td", {}, words[i].split("; lacks")[0].split(", ").slice(2).join(", ")),
      el("td", {}, candidate.figures), el("td", {}, candidate.feasible ? "reached" : "not reached"), el("td", {}, button));
  });
  byId("best-body").replaceChildren(el("div", { class: "wide" }, el("table", {}, el("caption", {}, "The six best: the one that is planned, then by time"),
    el("thead", {}, el("tr", {}, ["wire, machine, passes", "order, Ra, size error", "figures", "job requirements", ""].map((head) => el("th", { scope: "col" }, head)))), el("tbody", {}, rows))));
};

/** Shows the chart and the table of the best; `pick` takes a candidate. */
export const showChart = (answer, alternatives, pick) => {
  showBest(alternatives, pick);
  const picture = putNamelessPicture(byId("chart"), answer.pictures.chart);
  const candidates = alternatives.side_by_side;
  const all = byId("all-candidates").checked;
  const marks = [...picture.querySelectorAll("[data-candidate]")].map((mark) => ({ mark, candidate: candidates[Number(mark.dataset.candidate)], words: alternatives.in_short[Number(mark.dataset.candidate)] }))
    .filter(({ mark, candidate }) => {
      const shown = all || candidate.non_dominated || candidate.chosen;
      if (!shown) mark.remove();
      return shown;
    });
  // By time, so that the arrow keys go the way the eye does.
  marks.sort((a, b) => a.candidate.minutes - b.candidate.minutes || a.candidate.ra_um - b.candidate.ra_um);
  const chosen = marks.findIndex(({ candidate }) => candidate.chosen);
  picture.setAttribute("role", "radiogroup");
  picture.setAttribute("aria-label", "Plans by time and finish");
  const tell = (i) => { byId("chart-words").textContent = marks[i].words; };
  const focus = (i) => {
    marks.forEach(({ mark }, k) => mark.setAttribute("tabindex", k === i ? "0" : "-1"));
    marks[i].mark.focus();
  };
  // The nearest mark to the one at `i` whose `value` lies `sign` of it.
  const next = (i, value, other, sign) => {
    const here = marks[i].candidate;
    const beyond = marks.map(({ candidate }, k) => ({ candidate, k })).filter(({ candidate }) => sign * (value(candidate) - value(here)) > 1e-9);
    const cost = ({ candidate }) => Math.abs(Math.log(value(candidate) / value(here))) + 2 * Math.abs(Math.log(other(candidate) / other(here)));
    return beyond.sort((a, b) => cost(a) - cost(b))[0]?.k ?? i;
  };
  const minutes = (c) => c.minutes;
  const ra = (c) => c.ra_um;
  marks.forEach(({ mark, candidate, words }, i) => {
    mark.setAttribute("role", "radio");
    mark.setAttribute("aria-checked", String(Boolean(candidate.chosen)));
    mark.setAttribute("aria-label", words);
    mark.setAttribute("tabindex", i === Math.max(chosen, 0) ? "0" : "-1");
    mark.addEventListener("click", () => pick(candidate));
    mark.addEventListener("focus", () => tell(i));
    mark.addEventListener("pointerenter", () => tell(i));
    mark.addEventListener("keydown", (event) => {
      const action = {
        ArrowLeft: () => focus(next(i, minutes, ra, -1)), ArrowRight: () => focus(next(i, minutes, ra, 1)),
        ArrowUp: () => focus(next(i, ra, minutes, 1)), ArrowDown: () => focus(next(i, ra, minutes, -1)),
        Home: () => focus(0), End: () => focus(marks.length - 1),
        Enter: () => pick(candidate), " ": () => pick(candidate),
      }[event.key];
      if (action) { event.preventDefault(); action(); }
    });
  });
  if (chosen >= 0) tell(chosen);
  else byId("chart-words").textContent = marks.length > 0 ? "" : `${answer.estimate.no_totals ? `Nothing to compare: ${answer.estimate.no_totals}` : "No wire and machine of the book can cut it"}.`;
};

/** After picking with the keyboard the focus stays on the chart. */
export const focusChart = () => byId("chart").querySelector("[tabindex='0']")?.focus();

/** Shows the strip of the working day; `light` takes contour and pass, or nothing. */
export const showDay = (answer, light) => {
  const text = answer.pictures.shift_strip;
  byId("shift-strip").parentElement.hidden = !text;
  if (!text) return;
  const picture = putNamelessPicture(byId("shift-strip"), text);
  const blocks = [...picture.querySelectorAll("[data-step]")];
  const tell = (block) => {
    byId("shift-words").textContent = block.querySelector("title")?.textContent ?? "";
    const { contour, pass } = block.dataset;
    if (contour === undefined) light(); else light(Number(contour), pass === undefined ? null : Number(pass));
  };
  byId("shift-words").textContent = "Point at a block, or go through them with the arrow keys: its stretch of the path lights up.";
  blocks.forEach((block, i) => {
    block.setAttribute("tabindex", i === 0 ? "0" : "-1");
    block.setAttribute("role", "img");
    block.setAttribute("aria-label", block.querySelector("title")?.textContent ?? "");
    block.addEventListener("pointerenter", () => tell(block));
    block.addEventListener("pointerleave", () => { if (document.activeElement !== block) light(); });
    block.addEventListener("focus", () => tell(block));
    block.addEventListener("blur", () => light());
    block.addEventListener("keydown", (event) => {
      const step = { ArrowLeft: -1, ArrowRight: 1, Home: -i, End: blocks.length - 1 - i }[event.key];
      const next = step === undefined ? undefined : blocks[i + step];
      if (next) {
        event.preventDefault();
        block.setAttribute("tabindex", "-1");
        next.setAttribute("tabindex", "0");
        next.focus();
      }
    });
  });
};
