// Asking the server: the drawing is the body, what is asked is a header. Nothing else leaves the page.

import { inInch } from "./words.js";

export class Refused extends Error {
  constructor(refused) { super(refused.sentence); this.refused = refused; }
}

/** This window: the server works out one long plan at a time for it, the newest. */
const VISITOR = String(crypto.getRandomValues(new Uint32Array(4)));

const ascii = (text) => text.replace(/[\u007f-\uffff]/g, (c) => `\\u${c.charCodeAt(0).toString(16).padStart(4, "0")}`);

/** Posts; gives the response, or throws `Refused` with a sentence. */
export const post = async (path, { file = "", job = {}, several = false }, body, signal) => {
  let response;
  try {
    response = await fetch(path, {
      method: "POST",
      headers: { "x-kerfwright-ask": ascii(JSON.stringify({ file, job, several, inch: inInch() })), "x-kerfwright-visitor": VISITOR },
      body,
      signal,
    });
  } catch (error) {
    if (error.name === "AbortError") throw error;
    throw new Refused({ sentence: "the server does not answer", remedy: "start it again with kerfwright serve", about: "page" });
  }
  if (response.ok) return response;
  const answer = await response.json().catch(() => ({}));
  throw new Refused(answer.refused ?? { sentence: `the server answered ${response.status}`, remedy: "", about: "page" });
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
