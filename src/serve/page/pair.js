// A and B: two sets of answers side by side.

import { sectionOf } from "./sections.js";
import { byId, capital, el } from "./words.js";

let kept = null;

const linesOf = (answer) => new Map(sectionOf(answer, "answer").parts.find((part) => part.pairs).pairs);

const show = (answer) => {
  byId("swap-a").disabled = !kept;
  if (!kept || !answer?.planned) { byId("pair-body").replaceChildren(); return; }
  const [a, b] = [kept.lines, linesOf(answer)];
  const rows = [...new Set([...a.keys(), ...b.keys()])].map((name) => {
    const differs = a.get(name) !== b.get(name);
    return el("tr", { class: differs ? "differs" : undefined }, el("th", { scope: "row" }, capital(name)), el("td", {}, a.get(name) ?? "–"), el("td", {}, differs ? b.get(name) ?? "–" : "the same"));
  });
  byId("pair-body").replaceChildren(el("div", { class: "wide" }, el("table", {}, el("caption", {}, "A as kept, B as it is now"),
    el("thead", {}, el("tr", {}, ["", "A", "B"].map((head) => el("th", { scope: "col" }, head)))), el("tbody", {}, rows))));
};

/** Shows what is asked now as B, beside A where one is kept. */
export const showPair = show;

/** Listens to the buttons; `now` gives the answer and what it was asked with, `back` takes what was asked before. */
export const listenPair = (now, back) => {
  byId("keep-a").addEventListener("click", () => {
    const { answer, fragment } = now();
    if (!answer?.planned) return;
    kept = { lines: linesOf(answer), fragment };
    show(answer);
  });
  byId("swap-a").addEventListener("click", () => { if (kept) back(kept.fragment); });
};
