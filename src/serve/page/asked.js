// What is asked: the keys of a job file, the demo part and how lengths are shown. All of it but a drawing of one's
// own lives in the fragment of the address, so that it can be bookmarked.

const NESTED = new Set(["layer", "contour", "linetype", "color", "cut_layers", "ignore_layers"]);
const NUMBERS = /^(.*_mm|.*_k|.*_deg|passes|quantity|pieces_per_load|sharp_corners)$/;

export const asked = { job: {}, demo: null, inch: false };

export const toFragment = () => {
  const parts = new URLSearchParams();
  if (asked.demo) parts.set("demo", asked.demo);
  if (asked.inch) parts.set("lengths", "inch");
  for (const [key, value] of Object.entries(asked.job)) {
    parts.set(key, NESTED.has(key) || typeof value === "object" ? JSON.stringify(value) : String(value));
  }
  return parts.toString();
};

export const fromFragment = (fragment) => {
  const parts = new URLSearchParams(fragment.replace(/^#/, ""));
  asked.demo = parts.get("demo");
  asked.inch = parts.get("lengths") === "inch";
  asked.job = {};
  for (const [key, value] of parts) {
    if (key === "demo" || key === "lengths") continue;
    const read = () => {
      if (/^[[{]/.test(value)) {
        try { return JSON.parse(value); } catch { return undefined; }
      }
      if (key === "assume_sides") return value === "true";
      const number = NUMBERS.test(key) && value.trim() !== "" ? Number(value) : NaN;
      return Number.isFinite(number) ? number : value;
    };
    const held = read();
    if (held !== undefined) asked.job[key] = held;
  }
};

/** Sets or, with `undefined`, forgets a key. */
export const put = (key, value) => {
  if (value === undefined || value === "" || (typeof value === "number" && Number.isNaN(value))) delete asked.job[key];
  else asked.job[key] = value;
};

/** Says what a layer or contour is for; `""` leaves it to the drawing. */
export const putUse = (kind, name, use) => {
  const parts = { ...asked.job[kind] };
  const part = { ...parts[name] };
  if (use) part.use = use; else delete part.use;
  if (Object.keys(part).length > 0) parts[name] = part; else delete parts[name];
  put(kind, Object.keys(parts).length > 0 ? parts : undefined);
};

/** Takes a name out of the job, wherever it stands. */
export const forgetName = (key, name) => {
  const same = (other) => other.toLowerCase() === name.toLowerCase();
  const held = Object.entries(asked.job[key] ?? {}).filter(([other]) => !same(other));
  put(key, held.length > 0 ? Object.fromEntries(held) : undefined);
  if (key !== "layer") return;
  for (const list of ["cut_layers", "ignore_layers"]) {
    const names = (asked.job[list] ?? []).filter((other) => !same(other));
    put(list, names.length > 0 ? names : undefined);
  }
};

export const useOf = (kind, name) => asked.job[kind]?.[name]?.use ?? "";
