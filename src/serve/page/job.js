// What is asked: what was typed for the keys of a job file, what layers and contours are for, the demo part and how lengths are
// shown. All of it but a drawing of one's own lives in the fragment of the address: it can be bookmarked, and going back takes
// the last change back.

const NESTED = ["layer", "contour", "linetype", "color", "cut_layers", "ignore_layers", "start_holes_mm"];

/** `typed`: texts by key, as on the command line. `job`: what is no single text. */
export const asked = { typed: {}, job: {}, demo: null, inch: false };

export const toFragment = () => {
  const parts = new URLSearchParams();
  if (asked.demo) parts.set("demo", asked.demo);
  if (asked.inch) parts.set("lengths", "inch");
  for (const [key, text] of Object.entries(asked.typed)) parts.set(key, text);
  for (const [key, value] of Object.entries(asked.job)) parts.set(key, JSON.stringify(value));
  return parts.toString();
};

export const fromFragment = (fragment) => {
  const parts = new URLSearchParams(fragment.replace(/^#/, ""));
  asked.demo = parts.get("demo");
  asked.inch = parts.get("lengths") === "inch";
  asked.job = {};
  asked.typed = {};
  for (const [key, value] of parts) {
    if (key === "demo" || key === "lengths") continue;
    if (NESTED.includes(key)) {
      try { asked.job[key] = JSON.parse(value); } catch { /* A link that was cut short: what is left of it counts. */ }
    } else if (value !== "") {
      asked.typed[key] = withUnit(key, value, "mm");
    }
  }
};

/** A length without a unit gets the one that is meant, so that it stays what it is when lengths are shown otherwise. */
export const withUnit = (key, text, unit) => (/_mm$/.test(key) && /[\d.,]\s*$/.test(text) ? `${text.trim()} ${unit}` : text);

/** Sets or, with an empty text, forgets a key. */
export const put = (key, text) => {
  if (text === undefined || text === null || String(text).trim() === "") delete asked.typed[key];
  else asked.typed[key] = String(text);
};

const putNested = (key, value) => {
  const empty = value === undefined || (Array.isArray(value) ? value.length === 0 : Object.keys(value).length === 0);
  if (empty) delete asked.job[key];
  else asked.job[key] = value;
};

/** Takes over a job as a job file gives it. */
export const putJob = (job) => {
  asked.job = {};
  asked.typed = {};
  for (const [key, value] of Object.entries(job)) {
    if (value === null || key === "drawing") continue;
    if (NESTED.includes(key)) putNested(key, value);
    else if (Array.isArray(value)) put(key, value.join("x"));
    else put(key, withUnit(key, String(value), "mm"));
  }
};

/** Sets what is asked of a layer or contour; an empty value forgets it. */
export const putPart = (kind, name, key, value) => {
  const parts = { ...asked.job[kind] };
  const part = { ...parts[name] };
  if (value === undefined || value === "") delete part[key]; else part[key] = value;
  if (Object.keys(part).length > 0) parts[name] = part; else delete parts[name];
  putNested(kind, parts);
};

export const partOf = (kind, name, key) => asked.job[kind]?.[name]?.[key] ?? "";

/** Says what a layer or contour is for; `""` leaves it to the drawing. */
export const putUse = (kind, name, use) => putPart(kind, name, "use", use);
export const useOf = (kind, name) => partOf(kind, name, "use");

/** Leaves a layer out. */
export const leaveOut = (layer) => putNested("ignore_layers", [...new Set([...(asked.job.ignore_layers ?? []), layer])]);

/** Takes a name out of the job, wherever it stands. */
export const forgetName = (key, name) => {
  const same = (other) => other.toLowerCase() === name.toLowerCase();
  putNested(key, Object.fromEntries(Object.entries(asked.job[key] ?? {}).filter(([other]) => !same(other))));
  if (key !== "layer") return;
  for (const list of ["cut_layers", "ignore_layers"]) putNested(list, (asked.job[list] ?? []).filter((other) => !same(other)));
};

/** Whether questions were answered here that no job file holds yet. */
let saved = "";
const answers = () => JSON.stringify(asked.job);
export const answersAreSaved = () => { saved = answers(); };
export const hasUnsavedAnswers = () => Object.keys(asked.job).length > 0 && answers() !== saved;
