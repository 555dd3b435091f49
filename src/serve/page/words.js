// Numbers and lengths as they are shown, and the making of elements. Text from a drawing only ever goes in as text.

export const MM_PER_INCH = 25.4;
let inch = false;

export const showInch = (yes) => { inch = yes; };
export const inInch = () => inch;
export const lengthUnit = () => (inch ? "in" : "mm");

export const fixed = (value, decimals) => {
  const text = value.toFixed(decimals);
  return /[1-9]/.test(text) ? text : text.replace("-", "");
};

const short = (value, decimals) => {
  const text = fixed(value, decimals);
  return text.includes(".") ? text.replace(/\.?0+$/, "") : text;
};

/** A length given in mm, as a number in the unit shown. */
export const length = (mm, decimals = 4) => (inch ? short(mm / MM_PER_INCH, decimals + 1) : short(mm, decimals));

/** The same with its unit. */
export const lengthWords = (mm, decimals = 4) => `${length(mm, decimals)} ${lengthUnit()}`;

/** A small length given in µm: µm, or inches to a hundred-thousandth. */
export const small = (um) => (inch ? fixed(um / 1000 / MM_PER_INCH, 5) : short(um, 1));
export const smallUnit = () => (inch ? "in" : "µm");
export const smallWords = (um) => `${small(um)} ${smallUnit()}`;

export const area = (mm2) => (inch ? fixed(mm2 / MM_PER_INCH ** 2, 3) : fixed(mm2, 1));
export const areaUnit = () => (inch ? "in²" : "mm²");

/** Roughness, given in µm. */
export const roughness = (um) => (inch ? `${fixed(um / MM_PER_INCH * 1000, 1)} µin` : `${short(um, 2)} µm`);

/** Minutes, or hours where they are many. */
export const time = (minutes) => (minutes > 600 ? `${fixed(minutes / 60, 1)} h` : `${fixed(minutes, 1)} min`);

/** A time and what it may be. */
export const timeBand = ({ low, expected, high }) => {
  const [per, unit] = expected > 600 ? [60, "h"] : [1, "min"];
  return spread([low, expected, high].map((minutes) => fixed(minutes / per, 1)), ` ${unit}`);
};

/** What is expected before the ends of its range; an end that is printed as what is expected is no end. */
export const spread = ([low, expected, high], unit = "") => {
  const range = low === expected ? (high === expected ? "" : ` (to ${high})`) : high === expected ? ` (from ${low})` : ` (${low} to ${high})`;
  return `${expected}${unit}${range}`;
};

/** An amount with its range first. */
export const amount = (band, decimals, unit = "") => {
  const [low, expected, high] = [band.low, band.expected, band.high].map((value) => fixed(value, decimals));
  if (low === expected) return `expected ${expected}${unit}${high === expected ? "" : `, up to ${high}`}`;
  return high === expected ? `from ${low}${unit}, expected ${expected}` : `${low} to ${high}${unit}, expected ${expected}`;
};

/** Makes an element; `props` are properties, or attributes where the name holds a dash or is `role`. */
export const el = (tag, props = {}, ...children) => {
  const made = document.createElement(tag);
  for (const [name, value] of Object.entries(props)) {
    if (value === undefined || value === null) continue;
    if (name === "class") made.className = value;
    else if (name.includes("-") || name === "role" || name === "scope" || name === "list") made.setAttribute(name, value);
    else made[name] = value;
  }
  made.append(...children.flat().filter((child) => child !== null && child !== undefined));
  return made;
};

const SVG = "http://www.w3.org/2000/svg";

export const svg = (tag, attributes = {}, ...children) => {
  const made = document.createElementNS(SVG, tag);
  for (const [name, value] of Object.entries(attributes)) made.setAttribute(name, value);
  made.append(...children);
  return made;
};

/** Puts a picture of the server into `place`. */
export const putPicture = (place, text) => {
  const parsed = new DOMParser().parseFromString(text, "image/svg+xml").documentElement;
  const picture = document.importNode(parsed, true);
  place.replaceChildren(picture);
  return picture;
};

/** The same for a picture of which nothing is named: the page has names of its own. */
export const putNamelessPicture = (place, text) => {
  const picture = putPicture(place, text);
  for (const named of picture.querySelectorAll("[id]")) named.removeAttribute("id");
  return picture;
};

/** A table; `columns` are `[heading, isNumber]`, the first cell of each row is its header. */
export const table = (columns, rows, caption) => {
  const cell = (content, i) => {
    const number = columns[i][1] ? "number" : undefined;
    return i === 0 ? el("th", { scope: "row", class: number }, content) : el("td", { class: number }, content);
  };
  const head = columns.map(([words, number]) => el("th", { scope: "col", class: number ? "number" : undefined }, words));
  const body = rows.map((row) => {
    const line = el("tr", {}, (row.cells ?? row).map(cell));
    Object.assign(line.dataset, row.data ?? {});
    return line;
  });
  return el("div", { class: "wide" },
    el("table", {}, caption ? el("caption", {}, caption) : null, el("thead", {}, el("tr", {}, head)), el("tbody", {}, body)));
};

/** A band drawn as a line from low to high with a dot at what is expected, on a scale that ends at `most`. */
export const bandPicture = ({ low, expected, high }, most) => {
  const at = (value) => (most > 0 ? 2 + 96 * value / most : 2).toFixed(1);
  return svg("svg", { class: "band", viewBox: "0 0 100 10", "aria-hidden": "true", preserveAspectRatio: "none" },
    svg("line", { x1: at(low), x2: at(high), y1: 5, y2: 5 }), svg("circle", { cx: at(expected), cy: 5, r: 3 }));
};

export const say = (words) => { document.getElementById("said").textContent = words; };
export const byId = (id) => document.getElementById(id);
export const plural = (count, noun) => `${count} ${noun}${count === 1 ? "" : "s"}`;
