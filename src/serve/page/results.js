// Everything below the drawing, from one answer of the server.

import { putUse, useOf } from "./job.js";
import { mendButtons } from "./mend.js";
import { sectionElements, sectionOf, sectionsOf, tableElement, tableOf } from "./sections.js";
import { byId, capital, el, plural } from "./words.js";

export const USES = [["", "as drawn"], ["cut", "cut, the side as the edges around say"], ["part", "part: wire outside"], ["opening", "opening: wire inside"], ["slit", "slit: open cut, one kerf wide"], ["trim", "trim: open cut along an edge, one side stays"], ["existing", "already machined"], ["not-now", "not cut this time"], ["start-hole", "start hole, to be drilled"],
  ["ready-hole", "start hole, drilled already"], ["blank", "outline of the blank"], ["frame", "frame of the sheet"], ["thread", "sign of a thread"], ["reference", "for reference"], ["ignore", "leave out"]];

/** What the checks found, and what was assumed; `show` takes the number of a group and which of all findings to go to, `changed` is called after a mend. */
export const findings = (answer, alternatives, show, changed) => {
  const section = sectionOf(answer, "findings");
  const groups = section.parts.find((part) => part.findings)?.findings ?? [];
  const rows = groups.map(({ number, title, severity, places, entries, others, explained }) => {
    const told = entries.flatMap(({ index, says, remedy, mends }) => {
      const placed = answer.findings[index].at_mm;
      const button = placed ? el("button", { type: "button", "aria-label": `Show on the drawing: finding ${number}` }, "Show on the drawing") : null;
      button?.addEventListener("click", () => show(number, index));
      return [el("p", {}, capital(says)), remedy ? el("p", {}, capital(remedy)) : null, el("p", { class: "mends" }, button, mendButtons(mends, alternatives, changed))];
    });
    const help = entries.length === 0 ? [el("p", {}, "Answer it under Questions.")] : [];
    const row = el("li", { class: severity },
      el("p", {}, el("span", { class: "severity" }, `${number}  ${severity}`), ` ${title}: ${places}`), ...told, ...help,
      others ? el("p", { class: "quiet" }, `Others: ${others}`) : null,
      el("details", { class: "explained" }, el("summary", {}, "Explain"), explained.flatMap((sentences) => sentences.map((words) => el("p", {}, words)))));
    row.dataset.finding = number;
    return row;
  });
  const closing = section.parts.filter((part) => part.words).map((part) => el("p", {}, `${capital(part.words)}.`));
  const beside = sectionsOf(answer, "assumed", "ignored").flatMap((one) => sectionElements(one));
  byId("findings-body").replaceChildren(...(rows.length > 0 ? [el("ul", { class: "finding-list", role: "list" }, rows)] : []), ...closing, ...beside);
};

/** Marks a group of findings in the list. */
export const tellFinding = (number, focus) => {
  for (const row of document.querySelectorAll("#findings-body [data-finding]")) {
    const mine = Number(row.dataset.finding) === number;
    row.classList.toggle("told", mine);
    if (mine && focus) {
      row.tabIndex = -1;
      row.focus({ preventScroll: true });
      row.scrollIntoView({ block: "nearest" });
    }
  }
};

/** The passes, and what has none. */
export const passes = (answer) => {
  const [first, ...others] = sectionsOf(answer, "passes", "not-cut", "unreached");
  const data = (i) => ({ pass: answer.passes[i].pass, group: answer.passes[i].group });
  byId("passes-body").replaceChildren(...sectionElements(first, { data }), ...others.flatMap((section) => sectionElements(section)));
};

const put = (place, sections) => byId(place).replaceChildren(...sections.flatMap((section) => sectionElements(section)));

/** Where the time goes, and what the order takes. */
export const times = (answer) => put("time-body", sectionsOf(answer, "estimate", "time", "order"));

/** Fixed and per piece, band first. */
export const cost = (answer) => put("money-body", sectionsOf(answer, "cost"));

/** The wall of each demand group. */
export const accuracy = (answer) => put("accuracy-body", sectionsOf(answer, "wall", "remedies"));

/** Layers and contours with what they are for; `changed` after each choice, `tell` with contours to mark. */
export const layers = (answer, changed, tell) => {
  const byLayer = new Map();
  for (const contour of answer.contours) {
    const held = byLayer.get(contour.layer) ?? [];
    held.push(contour);
    byLayer.set(contour.layer, held);
  }
  const choose = (kind, name, words) => {
    const select = el("select", { "aria-label": words }, USES.map(([value, text]) => el("option", { value }, text)));
    select.id = `use-${kind}-${name}`;
    select.value = useOf(kind, name);
    select.addEventListener("change", () => { putUse(kind, name, select.value); changed(); });
    return select;
  };
  const mark = (ids, words) => {
    const button = el("button", { type: "button" }, words);
    button.addEventListener("click", () => tell(ids));
    return button;
  };
  const used = (contours) => [...new Set(contours.map((c) => c.purpose.replace("-", " ")))].join(", ");
  const rows = [...byLayer];
  const ofLayers = {
    columns: [{ head: "layer", kind: "name" }, { head: "contours", kind: "number" }, { head: "taken as", kind: "words" }],
    rows: rows.map(([name, contours]) => ({ cells: [name || "(no name)", String(contours.length), used(contours)] })),
  };
  const ofContours = tableOf(sectionOf(answer, "contours"));
  byId("layers-body").replaceChildren(
    tableElement(ofLayers, { heads: ["is for", ""], more: (i) => [choose("layer", rows[i][0], `What layer ${rows[i][0]} is for`), mark(rows[i][1].map((c) => c.id), "Mark")] }),
    ...(ofContours ? [el("details", { open: answer.contours.length <= 12 }, el("summary", {}, `Each contour (${plural(answer.contours.length, "contour")})`),
      tableElement(ofContours, {
        data: (i) => ({ contour: answer.contours[i].id }),
        heads: ["is for", ""],
        more: (i) => [choose("contour", String(answer.contours[i].id), `What contour ${answer.contours[i].id} is for`), mark([answer.contours[i].id], "Mark")],
      }))] : []));
};

/** Tells which contour is pointed at in a table whose rows bear its number. */
export const listenRows = (hover) => {
  byId("leaf").addEventListener("pointerover", (event) => {
    const row = event.target.closest("[data-contour]");
    hover(row ? [Number(row.dataset.contour)] : []);
  });
};

/** Marks rows of the contour that is pointed at. */
export const hoverRows = (ids) => {
  for (const row of document.querySelectorAll("#leaf [data-contour]")) row.classList.toggle("hovered", ids.includes(Number(row.dataset.contour)));
};

/** Marks contours in the list. */
export const tellRows = (ids) => {
  for (const row of document.querySelectorAll("#layers-body [data-contour]")) row.classList.toggle("told", ids.includes(Number(row.dataset.contour)));
};
