// The making of elements. Text from a drawing only ever goes in as text.

export const MM_PER_INCH = 25.4;
let inch = false;

export const showInch = (yes) => { inch = yes; };
export const inInch = () => inch;
export const lengthUnit = () => (inch ? "in" : "mm");

/** A length that is typed or pointed at, given in mm: no answer holds it. */
export const length = (mm, decimals = 4) => String(Number((inch ? mm / MM_PER_INCH : mm).toFixed(inch ? decimals + 1 : decimals)) + 0);

/** The same with its unit. */
export const lengthWords = (mm, decimals = 4) => `${length(mm, decimals)} ${lengthUnit()}`;

/** A length between passes, given in mm, under the magnifier. */
export const smallWords = (mm) => (inch ? lengthWords(mm) : `${Number((mm * 1000).toFixed(1)) + 0} µm`);

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

/** A band drawn as a line from low to high with a dot at what is expected, on a scale that ends at `most`. */
export const bandPicture = ([low, expected, high], most) => {
  const at = (value) => (most > 0 ? 2 + 96 * value / most : 2).toFixed(1);
  return svg("svg", { class: "band", viewBox: "0 0 100 10", "aria-hidden": "true", preserveAspectRatio: "none" },
    svg("line", { x1: at(low), x2: at(high), y1: 5, y2: 5 }), svg("circle", { cx: at(expected), cy: 5, r: 3 }));
};

/** Minutes by the clock: `1 h 05`. */
export const minutesWords = (minutes) => {
  const whole = Math.round(minutes);
  return whole < 60 ? `${whole} min` : `${Math.floor(whole / 60)} h ${String(whole % 60).padStart(2, "0")}`;
};

export const say = (words) => { document.getElementById("said").textContent = words; };
export const byId = (id) => document.getElementById(id);
export const capital = (text) => text.charAt(0).toUpperCase() + text.slice(1);
export const plural = (count, noun) => `${count} ${noun}${count === 1 ? "" : "s"}`;
