// Readings: what was gauged on a test piece, or measured on finished walls; typed here, or read from a file. What they say, and the book that follows.

import { carry, save, Refused } from "./carrier.js";
import { sectionElements } from "./sections.js";
import { byId, capital, el, putNamelessPicture, say } from "./words.js";

const KINDS = {
  piece: { path: "/gauged", example: "/example/test-piece-readings.csv", words: "Test piece: what the offsets are" },
  walls: { path: "/drift", example: "/example/wall-readings.csv", words: "Finished walls: how far they drift" },
};

let layOver = async () => {};

const wrong = (refused) => {
  byId("wrong-readings").hidden = !refused;
  byId("wrong-readings").textContent = refused ? `${capital(refused.sentence)}.${refused.remedy ? ` ${capital(refused.remedy)}.` : ""}` : "";
};

/** Runs what asks the server: a refusal is told beside the readings. */
const told = (work) => async () => {
  try {
    await work();
  } catch (error) {
    if (!(error instanceof Refused)) throw error;
    wrong(error.refused);
    say(error.refused.sentence);
  }
};

const button = (id, words, action) => {
  const made = el("button", { type: "button", id }, words);
  made.addEventListener("click", action);
  return made;
};

/** The piece of a book that follows: to be looked at, put in force, or saved. */
const bookElements = (book) => [
  el("h3", {}, "For the shop's book"),
  el("pre", { id: "gauged-book", tabIndex: 0, role: "group", "aria-label": "Piece of a book" }, book),
  el("p", { class: "form-tools" },
    button("take-gauged", "Put it in force in My shop", () => layOver(book)),
    button("save-gauged", "Save as a file", () => save(new Blob([book], { type: "application/toml" }), "gauged.toml"))),
];

const show = ({ sections, pictures, book }) => {
  const charts = Object.entries(pictures).map(([name, text]) => {
    const place = el("div", { class: "ink" });
    const picture = putNamelessPicture(place, text);
    picture.setAttribute("role", "img");
    picture.setAttribute("aria-label", capital(name.replaceAll("_", " ")));
    return place;
  });
  byId("readings-said").replaceChildren(...charts, ...sections.flatMap((section) => sectionElements(section)), ...(book ? bookElements(book) : []));
};

const read = (kind) => told(async () => {
  const text = byId("readings-text").value;
  wrong(null);
  byId("readings-said").replaceChildren();
  show(await (await carry(KINDS[kind].path, { asked: { file: "" }, body: text })).json());
  say("The readings are worked out.");
});

const example = (kind) => told(async () => {
  byId("readings-text").value = await (await carry(KINDS[kind].example)).text();
  await read(kind)();
});

/** Builds the sheet; `toBook` lays a piece of a book over the shop's own. */
export const buildReadings = (toBook) => {
  layOver = toBook;
  const text = el("textarea", { id: "readings-text", rows: 10, wrap: "off", spellcheck: false, "aria-label": "Readings, a row each, with a row of heads" });
  const file = el("input", { type: "file", accept: ".csv,.txt", id: "readings-file", "aria-label": "Read a file of readings" });
  file.addEventListener("change", async () => { if (file.files[0]) text.value = await file.files[0].text(); file.value = ""; });
  byId("readings-body").replaceChildren(
    text,
    el("p", { class: "form-tools" },
      el("label", { class: "file-button" }, file, el("span", {}, "Read a file")),
      ...Object.entries(KINDS).map(([kind, { words }]) => button(`read-${kind}`, words, read(kind)))),
    el("p", { class: "form-tools quiet" }, "With invented readings: ",
      button("example-piece", "a test piece", example("piece")), button("example-walls", "finished walls", example("walls"))),
    el("p", { class: "wrong", id: "wrong-readings", role: "alert", hidden: true }),
    el("div", { id: "readings-said" }));
};
