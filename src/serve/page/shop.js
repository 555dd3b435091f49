// My shop: the shop's own book, kept in this page alone, and sent with each request. And what this browser remembers, if it may.

import { carry, save, Refused } from "./carrier.js";
import { byId, el, say } from "./words.js";

const LARGEST_BYTES = 256 << 10;
const BOOK_KEY = "kerfwright-book";
const JOBS_KEY = "kerfwright-jobs";
const MOST_JOBS = 8;

let book = "";
let changed = () => {};
let numbers = [];

/** The text of the own book; empty where there is none. */
export const ownBook = () => book;

const maySave = () => localStorage.getItem(JOBS_KEY) !== null;

/** Remembers a job in this browser, if that was said yes to. */
export const rememberJob = (name, fragment) => {
  if (!maySave()) return;
  const before = JSON.parse(localStorage.getItem(JOBS_KEY));
  const jobs = [{ name, fragment }, ...before.filter((job) => job.name !== name)].slice(0, MOST_JOBS);
  localStorage.setItem(JOBS_KEY, JSON.stringify(jobs));
  localStorage.setItem(BOOK_KEY, book);
};

const wrong = (words) => {
  byId("wrong-book").hidden = !words;
  byId("wrong-book").textContent = words ?? "";
};

/** Tries a book: it counts only where it is sound. */
const take = async (text) => {
  const before = book;
  if (new TextEncoder().encode(text).length > LARGEST_BYTES) { wrong(`The book is larger than ${LARGEST_BYTES} bytes.`); return; }
  book = text.trim() === "" ? "" : text;
  try {
    numbers = (await (await carry("/book.json", { asked: { file: "" }, body: "" })).json()).numbers;
  } catch (error) {
    if (!(error instanceof Refused)) throw error;
    book = before;
    wrong(`${error.refused.sentence}. The book before is still in force.`);
    return;
  }
  wrong(null);
  byId("book-text").value = text;
  byId("book-state").textContent = book ? "Your own book is in force: it lies over the built-in one in this page, and goes with each request." : "The book of the server is in force.";
  showNumbers();
  if (book !== before) await changed();
};

/** Lays a piece of a book over the own one, where both are sound together. */
export const layOver = (piece) => take(book.trim() === "" ? piece : `${book.replace(/\s*$/, "")}\n\n${piece}`);

/** Puts a number into the text: under its table, where there is one. */
const withNumber = (text, entry, value) => {
  const dot = entry.lastIndexOf(".");
  const [table, key] = [entry.slice(0, dot), entry.slice(dot + 1)];
  const lines = text.split("\n");
  const at = lines.findIndex((line) => line.trim() === `[${table}]`);
  if (at < 0) return `${text.replace(/\s*$/, "")}${text.trim() ? "\n\n" : ""}[${table}]\n${key} = ${value}\n`;
  let end = lines.findIndex((line, i) => i > at && /^\s*\[/.test(line));
  if (end < 0) end = lines.length;
  const known = lines.findIndex((line, i) => i > at && i < end && new RegExp(`^\\s*${key}\\s*=`).test(line));
  if (known >= 0) lines[known] = `${key} = ${value}`; else lines.splice(at + 1, 0, `${key} = ${value}`);
  return lines.join("\n");
};

/** What a shop changes first; the search finds all others. */
const FIRST = /^(money|time|room)\.|^wire-kind\..*\.price_per_kg$/;
const MOST_ROWS = 60;

const showNumbers = () => {
  const word = byId("book-search").value.trim().toLowerCase();
  const found = numbers.filter(({ entry }) => !entry.includes("[") && (word ? entry.toLowerCase().includes(word) : FIRST.test(entry)));
  const rows = found.slice(0, MOST_ROWS).map(({ entry, expected: value, source }) => {
    const input = el("input", { type: "text", value: String(value), "aria-label": entry, spellcheck: false });
    input.addEventListener("change", () => {
      const typed = input.value.trim().replace(",", ".");
      if (!Number.isFinite(Number(typed)) || typed === "") { wrong(`“${input.value}” is no number: ${entry} stays ${value}.`); input.value = String(value); return; }
      take(withNumber(book, entry, typed));
    });
    return el("tr", {}, el("th", { scope: "row" }, entry), el("td", {}, input), el("td", { class: "quiet" }, source ?? ""));
  });
  const rest = found.length > MOST_ROWS ? el("p", { class: "quiet" }, `… and ${found.length - MOST_ROWS} more: search for them.`) : null;
  byId("book-numbers").replaceChildren(el("table", {}, el("thead", {}, el("tr", {}, ["number", "value", "source"].map((head) => el("th", { scope: "col" }, head)))), el("tbody", {}, rows)), ...(rest ? [rest] : []));
};

const showJobs = (openJob) => {
  const jobs = maySave() ? JSON.parse(localStorage.getItem(JOBS_KEY)) : [];
  const yes = el("button", { type: "button", id: "remember" }, "Remember book and recent jobs in this browser");
  yes.addEventListener("click", () => { localStorage.setItem(JOBS_KEY, "[]"); localStorage.setItem(BOOK_KEY, book); showJobs(openJob); say("Remembered from now on, in this browser alone."); });
  const no = el("button", { type: "button", id: "forget-all" }, "Delete all that this browser remembers");
  no.addEventListener("click", () => { localStorage.removeItem(JOBS_KEY); localStorage.removeItem(BOOK_KEY); showJobs(openJob); say("Deleted."); });
  const list = jobs.map(({ name, fragment }) => {
    const button = el("button", { type: "button" }, name);
    button.addEventListener("click", () => openJob(fragment));
    return el("li", {}, button);
  });
  byId("jobs").replaceChildren(el("h3", {}, "Recent jobs"), el("p", { class: "quiet" }, "The job requirements, not the drawings: open the drawing again beside it."),
    ...(maySave() ? [el("ul", { class: "answers", role: "list" }, list), el("p", { class: "form-tools" }, no)] : [el("p", { class: "form-tools" }, yes)]));
};

/** Builds the sheet; `onChange` is called when another book is in force, `openJob` with what a remembered job asks. */
export const buildShop = async (onChange, openJob) => {
  const text = el("textarea", { id: "book-text", rows: 14, spellcheck: false, "aria-label": "Your own book, as a book file" });
  const search = el("input", { type: "text", id: "book-search", "aria-label": "Search the numbers of the book", placeholder: "search, such as setup" });
  search.addEventListener("input", showNumbers);
  const button = (id, words, action) => {
    const made = el("button", { type: "button", id }, words);
    made.addEventListener("click", action);
    return made;
  };
  const file = el("input", { type: "file", accept: ".toml", id: "book-file", "aria-label": "Read a book file" });
  file.addEventListener("change", async () => { if (file.files[0]) await take(await file.files[0].text()); file.value = ""; });
  byId("shop-body").replaceChildren(
    el("p", { id: "book-state" }), el("p", { class: "wrong", id: "wrong-book", role: "alert", hidden: true }),
    el("p", {}, search), el("div", { class: "wide", id: "book-numbers" }),
    el("h3", {}, "As a book file"),
    el("p", { class: "quiet" }, "Machines, wires and materials of your own are written here; the empty book has an example of each."),
    text,
    el("p", { class: "form-tools" },
      button("take-book", "Put it in force", () => take(text.value)),
      button("new-book", "Empty book with examples", async () => { text.value = await (await carry("/starter-book.toml")).text(); }),
      button("save-book", "Save as a file", () => save(new Blob([text.value], { type: "application/toml" }), "shop.toml")),
      el("label", { class: "file-button" }, file, el("span", {}, "Read a file")),
      button("drop-book", "Take it away", () => take(""))),
    el("div", { id: "jobs" }));
  showJobs(openJob);
  changed = onChange;
  await take(maySave() ? localStorage.getItem(BOOK_KEY) ?? "" : "");
};
