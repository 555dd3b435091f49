// The answer, stamped on the sheet: state, hours and cost of the order, and the three worst findings with what may settle them.

import { mendButtons, onePassMore } from "./mend.js";
import { pairsElement, sectionOf } from "./sections.js";
import { byId, capital, el } from "./words.js";

const WORST = 3;

/** The answer in short; of a drawing without a plan what was read. */
export const showHead = (answer) => {
  byId("stamp").hidden = false;
  byId("stamp").dataset.state = answer.answer?.state ?? "read";
  const head = sectionOf(answer, "answer");
  if (head) {
    const [[, state], ...pairs] = head.parts.find((part) => part.pairs).pairs;
    // The worst stand below, with what may settle them.
    const kept = pairs.filter(([name]) => !["error", "warning", "note"].includes(name));
    byId("headline").replaceChildren(el("p", { class: "state" }, capital(state)), pairsElement(kept));
    return;
  }
  const read = sectionOf(answer, "drawing");
  const words = read.parts.map((part) => part.words).filter(Boolean);
  byId("headline").replaceChildren(...[read.note, ...words].filter(Boolean).map((one) => el("p", {}, `${capital(one)}.`)));
};

/** The worst findings: `show` takes the number of a group and which of all findings; `changed` is called after a mend. */
export const showWorst = (answer, alternatives, { show, questions, changed }) => {
  const groups = sectionOf(answer, "findings").parts.find((part) => part.findings)?.findings ?? [];
  const told = groups.filter(({ severity }) => severity !== "note").slice(0, WORST).map(({ number, title, severity, entries, places }) => {
    const [entry] = entries;
    const at = entry ? answer.findings[entry.index].at_mm : null;
    const shown = el("button", { type: "button", "aria-label": `Show finding ${number}` }, "Show");
    shown.addEventListener("click", () => (entry ? show(number, entry.index) : questions()));
    return el("li", { class: severity },
      el("p", {}, el("span", { class: "severity" }, `${number} ${severity}`), ` ${title}: ${entry && at ? entry.says.split("; at ")[0] : places}`),
      el("p", { class: "mends" }, shown, mendButtons(entry?.mends ?? [], alternatives, changed)));
  });
  const more = answer.planned && !answer.planned.reaches_demand ? onePassMore(alternatives, changed) : null;
  byId("worst").replaceChildren(...(told.length > 0 ? [el("ul", { class: "worst-list", role: "list" }, told)] : []), ...(more ? [el("p", { class: "mends" }, more)] : []));
};
