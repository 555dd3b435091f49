// One question at a time to the server, the newest: first what the sheet shows, then what stands on the further sheets.

import { Refused, carry } from "./carrier.js";
import { byId } from "./words.js";

/** Changes that come while an answer is worked out are gathered; a change that finds nothing going on is asked at once. */
const SETTLE_MS = 40;
const PATIENCE_MS = 500;
const LARGE_BYTES = 400_000;
const RETRY_MS = 2000;

let timer = 0;
let running = null;

/** What is asked of a drawing. */
let ask = () => null;
/** What is shown of an answer. */
let shown = {};

const get = async (path, { name, bytes, asked }, signal) => (await carry(path, { asked: { file: name, ...asked }, body: bytes, signal })).json();

/** Asks soon. */
export const askSoon = () => {
  clearTimeout(timer);
  timer = setTimeout(askNow, running && byId("main").dataset.more === undefined ? SETTLE_MS : 0);
};

/** Asks at once; what was being worked out is no longer wanted. */
export const askNow = async () => {
  clearTimeout(timer);
  running?.abort();
  shown.begun();
  const what = ask();
  if (!what) return;
  running = new AbortController();
  const mine = running;
  const { signal } = mine;
  const newest = () => mine === running && !signal.aborted;
  const patience = setTimeout(() => waitAloud(mine, performance.now(), what.name), PATIENCE_MS);
  byId("main").setAttribute("aria-busy", "true");
  delete byId("main").dataset.more;
  try {
    if (what.isNew && what.bytes.byteLength > LARGE_BYTES) {
      // Of a large drawing units and findings are shown while its plan is worked out.
      const read = await get("/drawing", what, signal);
      if (!newest()) return;
      shown.answer(read);
    }
    const answer = await get("/answer", what, signal);
    if (!newest()) return;
    clearTimeout(patience);
    shown.answer(answer);
    rest();
    // What follows is not waited for.
    byId("main").dataset.more = "";
    if (answer.planned) {
      const more = await get("/rest", what, signal);
      if (!newest()) return;
      shown.rest(more);
    }
    shown.all();
  } catch (error) {
    if (error.name === "AbortError" || mine !== running) return;
    if (!(error instanceof Refused)) throw error;
    shown.refused(error.refused);
    if (error.refused.away) timer = setTimeout(askNow, RETRY_MS);
  } finally {
    clearTimeout(patience);
    if (mine === running) { running = null; rest(); delete byId("main").dataset.more; }
  }
};

const waitAloud = (mine, since, name) => {
  if (mine !== running || mine.signal.aborted) return;
  byId("waiting").hidden = false;
  byId("main").classList.add("stale");
  const seconds = Math.round((performance.now() - since + PATIENCE_MS) / 1000);
  byId("waiting-words").textContent = `Working on ${name} for ${seconds} s. What is shown is not yet the new plan.`;
  setTimeout(() => { if (!byId("waiting").hidden) waitAloud(mine, since, name); }, 1000);
};

const rest = () => {
  byId("waiting").hidden = true;
  byId("main").removeAttribute("aria-busy");
  byId("main").classList.remove("stale");
};

/** Nobody waits any more: the server stops at its next step. */
const stopWaiting = () => {
  running?.abort();
  running = null;
  rest();
  shown.refused({ about: "page", sentence: "what is shown is not the new plan: the wait was stopped", remedy: "change something to plan again" });
};

/** `of` gives what is asked, or nothing; `show` has a function for each answer. */
export const listenAsking = (of, show) => {
  ask = of;
  shown = show;
  byId("stop-waiting").addEventListener("click", stopWaiting);
};
