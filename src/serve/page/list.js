// Several drawings, each planned with what is asked: the ledger, band first, the worst finding, and the sum.

import { carry, save } from "./carrier.js";
import { sentence } from "./cells.js";
import { byId, el } from "./words.js";

/** A sum of several drawings, its range first. */
const band = ({ low, expected, high }, decimals = 2) => {
  const [from, middle, to] = [low, expected, high].map((value) => value.toFixed(decimals));
  return from === to ? middle : `${from} to ${to}, expected ${middle}`;
};

const worst = ({ finding_groups: groups }) => {
  const alike = groups.filter(({ severity }) => severity === groups[0].severity);
  return groups.length > 0 ? `${groups[0].severity}: ${groups[0].title}${alike.length > 1 ? ` and ${alike.length - 1} more` : ""}` : "none found";
};

let running = null;

/** Asks for no more: what is asked has changed. */
export const stopList = () => running?.abort();

/** Asks for every drawing in turn and fills the table; `show` takes the number of a drawing. */
export const showList = async (drawings, current, job, show) => {
  stopList();
  if (drawings.length < 2) return;
  running = new AbortController();
  const { signal } = running;
  const answers = drawings.map(() => null);
  const fill = () => table(drawings, current, answers, show);
  fill();
  for (const [i, drawing] of drawings.entries()) {
    try {
      const response = await carry("/summary", { asked: { file: drawing.name, ...job, several: true }, body: drawing.bytes, signal });
      answers[i] = { answer: await response.json() };
    } catch (error) {
      if (error.name === "AbortError") return;
      answers[i] = { refused: error.refused ?? { sentence: String(error), remedy: "" } };
    }
    if (signal.aborted) return;
    fill();
  }
};

const table = (drawings, current, answers, show) => {
  const head = el("tr", {}, ["Drawing", "State", "Once", "Each piece", "Minutes a piece", "Worst finding"].map((words) => el("th", { scope: "col" }, words)));
  const sums = { once: [0, 0, 0], each: [0, 0, 0], minutes: [0, 0, 0], count: 0, currency: "" };
  const add = (sum, { low, expected, high }) => { sum[0] += low; sum[1] += expected; sum[2] += high; };
  const rows = drawings.map((drawing, i) => {
    const button = el("button", { type: "button", "aria-pressed": String(i === current) }, drawing.name);
    button.addEventListener("click", () => show(i));
    const name = el("th", { scope: "row" }, button);
    const held = answers[i];
    const whole = (words) => el("tr", {}, name, el("td", { colSpan: 5 }, words));
    if (!held) return whole("waiting");
    const open = (held.answer?.questions ?? []).filter((question) => !question.assumed);
    if (open.length > 0) return whole(`To be settled: ${open.map(({ asks }) => asks).join(" ")}`);
    const refused = held.refused ?? held.answer.not_planned;
    if (refused) return whole(sentence(refused));
    const { estimate } = held.answer;
    if (!estimate.cost_fixed) return whole(`Not priced: ${estimate.no_totals}.`);
    add(sums.once, estimate.cost_fixed);
    add(sums.each, estimate.cost_piece);
    const { drawn } = held.answer.pieces;
    const minutes = Object.fromEntries(Object.entries(estimate.machine_minutes).map(([end, value]) => [end, value / drawn]));
    add(sums.minutes, minutes);
    sums.count += 1;
    sums.currency = estimate.currency;
    return el("tr", {}, name, el("td", {}, held.answer.answer.lines[0].words), el("td", {}, `${band(estimate.cost_fixed)} ${estimate.currency}`), el("td", {}, `${band(estimate.cost_piece)} ${estimate.currency}`),
      el("td", {}, band(minutes, 1)), el("td", {}, worst(held.answer)));
  });
  const sum = ([low, expected, high], decimals) => band({ low, expected, high }, decimals);
  const missing = drawings.length - sums.count;
  const total = el("tr", { class: "sum" }, el("th", { scope: "row" }, `Total of ${sums.count}${missing > 0 ? `, ${missing} not in it` : ""}`), el("td", {}, ""),
    el("td", {}, sums.count ? `${sum(sums.once)} ${sums.currency}` : "–"), el("td", {}, sums.count ? `${sum(sums.each)} ${sums.currency}` : "–"),
    el("td", {}, sums.count ? sum(sums.minutes, 1) : "–"), el("td", {}, ""));
  byId("several-table").replaceChildren(el("thead", {}, head, total), el("tbody", {}, rows));
};

/** Saves the rows of all drawings as one CSV. */
export const saveList = async (drawings, job) => {
  const tables = [];
  for (const drawing of drawings) {
    tables.push(await (await carry("/row.csv", { asked: { file: drawing.name, ...job, several: true }, body: drawing.bytes })).text());
  }
  // Every table begins with the same line of column names.
  const rows = tables.map((table, at) => (at === 0 ? table : table.slice(table.indexOf("\n") + 1)));
  save(new Blob(rows, { type: "text/csv" }), "drawings.csv");
};
