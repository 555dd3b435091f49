// The one way out of the page: everything that it asks goes through `carry`. The drawing is the body, what is asked of it a header.
// In the page that is one file the program inside it answers in the server's place.

import { inInch } from "./words.js";
import { ownBook } from "./shop.js";

export class Refused extends Error {
  constructor(refused) { super(refused.sentence); this.refused = refused; }
}

/** This window: one long plan at a time is worked out for it, the newest. */
const VISITOR = String(crypto.getRandomValues(new Uint32Array(4)));
const WITH_BOOK = "application/x-kerfwright-book-and-drawing";

const ascii = (text) => text.replace(/[\u007f-\uffff]/g, (c) => `\\u${c.charCodeAt(0).toString(16).padStart(4, "0")}`);

/** Sends a request over the loopback to the server that the page came from. */
const overLoopback = async (path, request) => {
  try {
    return await fetch(path, request);
  } catch (error) {
    if (error.name === "AbortError") throw error;
    throw new Refused({ sentence: "the server does not answer", remedy: "start it again with kerfwright serve; this page then goes on", about: "page", away: true });
  }
};

let send = overLoopback;

/** Has another than the server answer: `other` takes what `fetch` takes and gives what it gives. */
export const sendBy = (other) => { send = other; };

/** Asks for `path`: with `asked` what is worked out of `body`, else what is there to be read. Gives the answer, or throws `Refused`. */
export const carry = async (path, { asked, body, signal } = {}) => {
  const headers = asked ? { "x-kerfwright-ask": ascii(JSON.stringify({ ...asked, inch: inInch() })), "x-kerfwright-visitor": VISITOR } : {};
  const book = asked ? ownBook() : "";
  if (book) headers["content-type"] = WITH_BOOK;
  const response = await send(path, { method: asked ? "POST" : "GET", headers, body: book ? withBook(book, body) : body, signal });
  if (response.ok) return response;
  const answer = await response.json().catch(() => ({}));
  throw new Refused(answer.refused ?? { sentence: `the server answered ${response.status}`, remedy: "", about: "page" });
};

/** The shop's own book before the drawing: its length in bytes on a line, the book, the drawing. */
const withBook = (book, drawing) => {
  const text = new TextEncoder().encode(book);
  return new Blob([`${text.length}\n`, text, drawing ?? ""]);
};

/** Hands a blob to the browser to be saved. */
export const save = (blob, name) => {
  const link = document.createElement("a");
  link.href = URL.createObjectURL(blob);
  link.download = name;
  document.body.append(link);
  link.click();
  link.remove();
  setTimeout(() => URL.revokeObjectURL(link.href), 60000);
};

export const stem = (name) => name.replace(/\.[^.]*$/, "") || name;
