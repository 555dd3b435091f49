// Sections as the server sets them: its texts, never a number of our own.

import { bandPicture, capital, el } from "./words.js";

/** The sections of an answer whose names begin so. */
export const sectionsOf = (answer, ...names) => answer.sections.filter(({ id }) => names.some((name) => id === name || id.startsWith(`${name}-`)));

/** The one section of a name, or none. */
export const sectionOf = (answer, name) => answer.sections.find(({ id }) => id === name);

/** The first table of a section. */
export const tableOf = (section) => section?.parts.find((part) => part.table)?.table;

const BAND_HEADS = ["", "low", "expected", "high"];

/** A table; `data` gives each row what it is found by, `more` cells of our own. */
export const tableElement = ({ columns, rows, rest }, { caption, data = () => ({}), heads = [], more = () => [] } = {}) => {
  const isNumber = ({ kind }) => kind === "number";
  const head = columns.flatMap((column) => (column.kind === "band"
    ? BAND_HEADS.map((words) => el("th", { scope: "col", class: words ? "number" : undefined }, words))
    : [el("th", { scope: "col", class: isNumber(column) ? "number" : undefined }, capital(column.head))]));
  const ends = rows.flatMap((row) => row.cells).filter((cell) => cell.numbers).map((cell) => cell.numbers[2]);
  const most = Math.max(0, ...ends);
  const bandCells = (cell) => {
    const [low, expected, high] = cell.numbers ? cell.printed : ["", cell, ""];
    const picture = el("td", {}, cell.numbers ? bandPicture(cell.numbers, most) : "");
    return [picture, ...[low, expected, high].map((words) => el("td", { class: "number" }, words || "–"))];
  };
  const body = rows.map((row, i) => {
    const cells = row.cells.flatMap((cell, at) => {
      const column = columns[at];
      if (column.kind === "band") return bandCells(cell);
      return [column.kind === "name" ? el("th", { scope: "row" }, cell) : el("td", { class: isNumber(column) ? "number" : undefined }, cell)];
    });
    const line = el("tr", { class: row.sum ? "sum" : undefined }, cells, more(i).map((cell) => el("td", {}, cell)));
    Object.assign(line.dataset, data(i));
    return line;
  });
  // What may have to be scrolled can be come to with the keyboard.
  const scrolls = columns.length > 4 ? { tabIndex: 0, role: "group", "aria-label": caption ?? `Table: ${columns.map((column) => column.head).slice(0, 3).join(", ")} …` } : {};
  return el("div", { class: "wide", ...scrolls },
    el("table", {}, caption ? el("caption", {}, caption) : null,
      el("thead", {}, el("tr", {}, head, heads.map((words) => el("th", { scope: "col" }, words)))), el("tbody", {}, body)),
    rest ? el("p", { class: "quiet" }, rest) : null);
};

/** Names with what they are. */
export const pairsElement = (pairs) => el("dl", { class: "pairs" }, pairs.flatMap(([name, words]) => [el("dt", {}, capital(name)), el("dd", {}, words)]));

const partElement = (part, options) => {
  if (part.heading) return el("h4", {}, capital(part.heading));
  if (part.words) return el("p", {}, capital(part.words));
  if (part.alarm) return el("p", { class: "wrong" }, capital(part.alarm));
  if (part.pairs) return pairsElement(part.pairs);
  if (part.list) return el("ul", {}, part.list.map((words) => el("li", {}, words)));
  if (part.table) return tableElement(part.table, options);
  return null;
};

/** Everything that a section holds, under its heading. */
export const sectionElements = (section, options) => [
  el("h3", {}, capital(section.title)),
  section.note ? el("p", { class: "quiet" }, `${capital(section.note)}.`) : null,
  ...section.parts.map((part) => partElement(part, options)),
].filter(Boolean);
