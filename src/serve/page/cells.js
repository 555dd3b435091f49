// The cells of the title block: what is typed in them is read as on the command line, and what was understood stands beside.

import { asked, put, withUnit } from "./job.js";
import { byId, capital, el, length, lengthUnit } from "./words.js";

let cells = [];
let changed = () => {};

const cell = (key, label, control, says) => {
  const id = `field-${key}`;
  const understood = el("span", { class: "understood", id: `understood-${key}` });
  const wrong = el("p", { class: "wrong", id: `wrong-${key}`, hidden: true });
  control.id = id;
  control.setAttribute("aria-describedby", `${understood.id} ${wrong.id}`);
  if (says) control.title = says;
  return el("div", { class: `cell cell-${key}` }, el("label", { htmlFor: id }, label), el("div", { class: "row" }, control, understood), wrong);
};

/** A choice of the book. */
const choice = (key, label, list, says) => {
  const select = el("select", {}, list.map(([value, words]) => el("option", { value }, words)));
  select.addEventListener("change", () => { put(key, select.value); changed(key); });
  const show = () => {
    const value = asked.typed[key] ?? "";
    // A job file may hold what is rarely chosen.
    if (![...select.options].some((option) => option.value === value)) select.append(new Option(value, value));
    select.value = value;
  };
  cells.push({ keys: [key], control: select, show });
  return cell(key, label, select, says);
};

/** A text cell. */
const text = (key, label, placeholder, says) => {
  const input = el("input", { type: "text", placeholder, spellcheck: false, autocomplete: "off" });
  input.addEventListener("input", () => { put(key, withUnit(key, input.value, lengthUnit())); changed(key); });
  const show = (all) => { if (all || document.activeElement !== input) input.value = asked.typed[key] ?? ""; };
  input.addEventListener("blur", () => show(true));
  cells.push({ keys: [key], control: input, show });
  return cell(key, label, input, says);
};

/** Yes, or nothing said. */
const yes = (key, label, says) => {
  const box = el("input", { type: "checkbox" });
  box.addEventListener("change", () => { put(key, box.checked ? "true" : ""); changed(key); });
  cells.push({ keys: [key], control: box, show: () => { box.checked = asked.typed[key] === "true"; } });
  return cell(key, label, box, says);
};

/** Wire: diameter and kind are picked together. */
const wire = (choices, says) => {
  const select = el("select");
  const same = (w, mm) => mm !== undefined && Math.abs(w.diameter_mm - Number.parseFloat(mm)) < 1e-9;
  select.addEventListener("change", () => {
    const [mm, kind] = select.value.split("|");
    put("wire_mm", mm ? `${mm} mm` : "");
    put("wire_kind", kind);
    changed("wire_mm");
  });
  const show = () => {
    const { wire_mm: mm, wire_kind: kind = choices.default_wire_kind } = asked.typed;
    select.replaceChildren(el("option", { value: "" }, "chosen for the job"),
      ...choices.wires.map((w) => el("option", { value: `${w.diameter_mm}|${w.kind}` }, `${length(w.diameter_mm, 3)} ${lengthUnit()} ${w.title}`)));
    const held = /mm\s*$/.test(mm ?? "") ? choices.wires.find((w) => same(w, mm) && w.kind === kind) : undefined;
    const value = mm === undefined ? "" : `${held ? held.diameter_mm : Number.parseFloat(mm)}|${kind}`;
    if (mm !== undefined && !held) select.append(el("option", { value }, `${mm} ${kind}`));
    select.value = value;
  };
  cells.push({ keys: ["wire_mm", "wire_kind"], control: select, show });
  const made = cell("wire_mm", "Wire", select, says);
  made.append(el("p", { class: "wrong", id: "wrong-wire_kind", hidden: true }));
  return made;
};

/** A cell of a key without one of its own, by what its value is. */
const ofKey = ({ key, says, takes, words }) => {
  const [label, usual] = says.split(" [default: ");
  const placeholder = usual?.replace("]", "") ?? "";
  if (takes === "words") return choice(key, label, [["", placeholder || "not given"], ...words.map((word) => [word, word])], says);
  if (takes === "yes") return yes(key, label, says);
  return text(key, label, placeholder, says);
};

/** The cells in the order in which a print is read. */
const usualCells = (choices, says) => {
  const named = (list) => list.map(({ name, title }) => [name, title]);
  const machines = choices.machines.filter(({ name }) => name !== choices.default_machine);
  const usual = choices.machines.find(({ name }) => name === choices.default_machine);
  const passes = Array.from({ length: choices.most_passes }, (_, i) => [String(i + 1), String(i + 1)]);
  return [
    choice("material", "Material", [["", "not given yet"], ...named(choices.materials)], says("material")),
    text("thickness_mm", "Thickness", "30, 1.25in, 1/2 in", says("thickness_mm")),
    text("finish", "Finish", `${choices.default_finish}, N5, VDI 12, 16 µin`, says("finish")),
    text("tolerance", "Tolerance", `${choices.default_tolerance}, 25H7, IT6, +0.02/-0.01`, says("tolerance")),
    text("quantity", "Quantity", "as drawn", says("quantity")),
    wire(choices, says("wire_mm")),
    choice("passes", "Passes", [["", "as needed"], ...passes], says("passes")),
    choice("machine", "Machine", [["", usual?.title ?? choices.default_machine], ...named(machines)], says("machine")),
  ];
};

const FOLDED = [["job", "Job"], ["shop", "Room and offset"], ["holding", "Holding"], ["wire", "Starts and wire"], ["drawing", "Reading the drawing"]];

/** Builds the title block; `onChange` is called with the key after each change. */
export const buildCells = (choices, onChange) => {
  changed = onChange;
  cells = [];
  const says = (key) => choices.keys.find((one) => one.key === key)?.says;
  byId("cells").replaceChildren(...usualCells(choices, says));
  const held = new Set(cells.flatMap(({ keys }) => keys));
  const folds = FOLDED.map(([about, title]) => {
    const keys = choices.keys.filter((one) => one.about === about && !held.has(one.key));
    const made = el("details", { class: "fold" }, el("summary", {}, el("span", {}, title), " ", el("span", { class: "stands" })), el("div", { class: "cells" }, keys.map(ofKey)));
    made.dataset.keys = keys.map(({ key }) => key).join(" ");
    return made;
  });
  byId("folds").replaceChildren(...folds);
};

/** Puts what is asked into the cells, and says of the folded ones what they stand at. What is being typed is left alone, unless it was
 *  taken back. */
export const showCells = (all = false) => {
  cells.forEach(({ show }) => show(all));
  for (const fold of document.querySelectorAll(".fold")) {
    const given = fold.dataset.keys.split(" ").filter((key) => asked.typed[key] !== undefined);
    const named = given.map((key) => `${byId(`field-${key}`).labels[0].textContent.split(/[:;,[]/)[0].trim().toLowerCase()}: ${asked.typed[key]}`);
    fold.querySelector(".stands").textContent = given.length > 0 ? named.join("; ") : "default";
    fold.classList.toggle("given", given.length > 0);
  }
};

/** Shows beside each cell what was understood. */
export const showUnderstood = (understood) => {
  for (const place of document.querySelectorAll(".understood")) {
    const key = place.id.replace("understood-", "");
    const said = understood?.[key];
    const typed = (asked.typed[key] ?? "").replace(/\s/g, "");
    place.textContent = said && said.replace(/\s/g, "") !== typed ? `= ${said}` : "";
  }
};

/** Puts a sentence beside the cell that it is about; gives whether there is such a cell. */
export const showWrong = (refused) => {
  for (const { keys, control } of cells) {
    const mine = refused && keys.includes(refused.about);
    if (mine) control.setAttribute("aria-invalid", "true"); else control.removeAttribute("aria-invalid");
    const folded = mine && control.closest("details");
    if (folded) folded.open = true;
  }
  for (const place of document.querySelectorAll(".wrong[id^='wrong-']")) {
    const mine = refused && place.id === `wrong-${refused.about}`;
    place.hidden = !mine;
    place.textContent = mine ? sentence(refused) : "";
  }
  return Boolean(refused && byId(`wrong-${refused.about}`));
};

export const sentence = ({ sentence: words, remedy }) => {
  const ended = (part) => (/[.!?]$/.test(part) ? part : `${part}.`);
  return [words, remedy].filter(Boolean).map((part) => ended(capital(part))).join(" ");
};
