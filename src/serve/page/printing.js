// Printing gives the job sheet: it is made ready while nothing else goes on, in a part of the page that only paper shows.

import { carry } from "./carrier.js";
import { byId } from "./words.js";

let fresh = null;
let making = null;

const root = () => byId("printed").shadowRoot ?? byId("printed").attachShadow({ mode: "open" });

const STYLES = /<style[^>]*>([^]*?)<\/style>/g;

/** Puts a job sheet into the part that is printed. Its styles are handed over apart: the page allows none within. */
const lay = (html) => {
  const styles = [...html.matchAll(STYLES)].map(([, text]) => text.replace(/<!\[CDATA\[|\]\]>/g, "")).join("\n");
  const parsed = new DOMParser().parseFromString(html.replace(STYLES, "").replace(/<script[^]*?<\/script>/g, ""), "text/html");
  const style = new CSSStyleSheet();
  style.replaceSync(styles.replaceAll(":root", ":host").replace(/(^|[},\s])body(?=[\s{,.:])/g, "$1.sheet-body"));
  root().adoptedStyleSheets = [style];
  const body = document.createElement("div");
  body.className = `sheet-body ${parsed.body.className}`;
  body.append(...[...parsed.body.childNodes].map((node) => document.importNode(node, true)));
  root().replaceChildren(body);
};

/** What is asked has changed: the sheet that is laid is old. */
export const oldPrint = () => {
  fresh = null;
  document.documentElement.classList.remove("printable");
};

/** Makes the job sheet ready to be printed. */
export const makePrint = async (what) => {
  if (fresh === what) return;
  making?.abort();
  making = new AbortController();
  try {
    const html = await (await carry("/job-sheet.html", { asked: { file: what.name, ...what.asked }, body: what.bytes, signal: making.signal })).text();
    lay(html);
    fresh = what;
    document.documentElement.classList.add("printable");
  } catch (error) {
    if (error.name !== "AbortError") oldPrint();
  }
};
