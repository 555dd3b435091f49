// The fields of what is asked. Lengths are typed in the unit shown and kept in mm.

import { asked, put } from "./asked.js";
import { MM_PER_INCH, byId, el, inInch, length, lengthUnit } from "./words.js";

let fields = [];
let changed = () => {};

const field = (key, label, control, extra = []) => {
  const id = `field-${key}`;
  const wrong = el("p", { class: "wrong", id: `wrong-${key}`, hidden: true });
  control.id = id;
  control.setAttribute("aria-describedby", wrong.id);
  return el("div", { class: "field" }, el("label", { htmlFor: id }, label), el("div", { class: "row" }, control, ...extra), wrong);
};

const options = (select, list) => select.replaceChildren(...list.map(([value, words]) => el("option", { value }, words)));

/** A choice of the book. */
const choice = (key, label, list) => {
  const select = el("select");
  options(select, list);
  select.addEventListener("change", () => { put(key, select.value); changed(); });
  const show = () => {
    const value = asked.job[key] ?? "";
    // A job file may hold what is rarely chosen.
    if (![...select.options].some((option) => option.value === String(value))) select.append(new Option(value, value));
    select.value = value;
  };
  fields.push({ keys: [key], control: select, show });
  return field(key, label, select);
};

const words = (key, label, placeholder) => {
  const input = el("input", { type: "text", placeholder, spellcheck: false });
  input.addEventListener("input", () => { put(key, input.value.trim()); changed(); });
  fields.push({ keys: [key], control: input, show: () => { if (document.activeElement !== input) input.value = asked.job[key] ?? ""; } });
  return field(key, label, input);
};

const number = (key, label, { min, step, placeholder, suffix }) => {
  const input = el("input", { type: "number", min, step, placeholder });
  input.addEventListener("input", () => { put(key, input.value === "" ? undefined : input.valueAsNumber); changed(); });
  fields.push({ keys: [key], control: input, show: () => { if (document.activeElement !== input) input.value = asked.job[key] ?? ""; } });
  return field(key, label, input, suffix ? [el("span", { class: "suffix" }, suffix)] : []);
};

/** A length: typed in the unit shown, kept in mm. */
const lengthInput = (held, keep, label) => {
  const per = () => (inInch() ? MM_PER_INCH : 1);
  const input = el("input", { type: "number", min: "0", step: "any", ...(label && { "aria-label": label }) });
  input.addEventListener("input", () => { keep(input.value === "" ? undefined : input.valueAsNumber * per()); changed(); });
  const show = () => {
    const mm = held();
    if (document.activeElement !== input) input.value = mm === undefined ? "" : length(mm, 3);
  };
  return { input, show };
};

const distance = (key, label) => {
  const suffix = el("span", { class: "suffix" });
  const { input, show } = lengthInput(() => asked.job[key], (mm) => put(key, mm));
  fields.push({ keys: [key], control: input, show: () => { suffix.textContent = lengthUnit(); show(); } });
  return field(key, label, input, [suffix]);
};

/** Yes, or nothing said. */
const yes = (key, label) => {
  const box = el("input", { type: "checkbox" });
  box.addEventListener("change", () => { put(key, box.checked || undefined); changed(); });
  fields.push({ keys: [key], control: box, show: () => { box.checked = asked.job[key] === true; } });
  return field(key, label, box);
};

const ofKey = ({ key, says, takes, words: list }) => {
  const [label, usual] = says.split(" [default: ");
  const placeholder = usual?.replace("]", "") ?? "";
  if (takes === "words") return choice(key, label, [["", placeholder], ...list.map((word) => [word, word])]);
  if (takes === "yes") return yes(key, label);
  if (takes === "length") return distance(key, label);
  if (takes === "number") return number(key, label, { min: "0", step: "any", placeholder });
  return words(key, label, placeholder);
};

/** Size of the blank: width and height go together. */
const blank = () => {
  let typed = [undefined, undefined];
  const keep = (i) => (mm) => {
    typed[i] = mm;
    // Half a size says nothing yet.
    put("blank_mm", typed.every((side) => side !== undefined) ? [...typed] : undefined);
  };
  const [width, height] = ["Blank, width", "Blank, height"].map((label, i) => lengthInput(() => typed[i], keep(i), label));
  const suffix = el("span", { class: "suffix" });
  const show = () => {
    if (asked.job.blank_mm) typed = [...asked.job.blank_mm];
    else if (typed.every((side) => side !== undefined)) typed = [undefined, undefined];
    suffix.textContent = lengthUnit();
    width.show();
    height.show();
  };
  fields.push({ keys: ["blank_mm"], control: width.input, show });
  return field("blank_mm", "Size of the blank", width.input, [el("span", { class: "suffix" }, "×"), height.input, suffix]);
};

/** Thickness: a number and a slider that runs by equal ratios. */
const thickness = () => {
  const LOW_MM = 1, HIGH_MM = 300;
  const input = el("input", { type: "number", min: "0", step: "any" });
  const slider = el("input", { type: "range", min: "0", max: "1000", "aria-label": "Thickness, slider" });
  const suffix = el("span", { class: "suffix" });
  const per = () => (inInch() ? MM_PER_INCH : 1);
  const toSlider = (mm) => 1000 * Math.log(Math.max(mm, LOW_MM) / LOW_MM) / Math.log(HIGH_MM / LOW_MM);
  const show = () => {
    const mm = asked.job.thickness_mm;
    suffix.textContent = lengthUnit();
    if (document.activeElement !== input) input.value = mm === undefined ? "" : length(mm, 3);
    if (document.activeElement !== slider) slider.value = mm > 0 ? toSlider(mm) : 500;
    slider.setAttribute("aria-valuetext", mm === undefined ? "not given" : `${length(mm, 3)} ${lengthUnit()}`);
  };
  input.addEventListener("input", () => {
    put("thickness_mm", input.value === "" ? undefined : input.valueAsNumber * per());
    show();
    changed();
  });
  slider.addEventListener("input", () => {
    const shown = LOW_MM * (HIGH_MM / LOW_MM) ** (slider.value / 1000) / per();
    // Whole millimetres above ten, tenths below; in inches a thousandth or a hundredth.
    const decimals = inInch() ? (shown < 1 ? 3 : 2) : (shown < 10 ? 1 : 0);
    put("thickness_mm", Number(shown.toFixed(decimals)) * per());
    show();
    changed();
  });
  fields.push({ keys: ["thickness_mm"], control: input, show });
  return field("thickness_mm", "Thickness of the work", input, [suffix, slider]);
};

/** Passes: as many as the demand needs, or a number. */
const passes = (most) => {
  const slider = el("input", { type: "range", min: "0", max: String(most), step: "1" });
  const said = el("output", { class: "suffix" });
  const show = () => {
    const passes = asked.job.passes ?? 0;
    slider.value = passes;
    said.textContent = passes === 0 ? "as needed" : String(passes);
    slider.setAttribute("aria-valuetext", passes === 0 ? "as many as the demand needs" : `${passes}`);
  };
  slider.addEventListener("input", () => {
    const passes = slider.valueAsNumber;
    put("passes", passes === 0 ? undefined : passes);
    show();
    changed();
  });
  fields.push({ keys: ["passes"], control: slider, show });
  const made = field("passes", "Passes", slider, [said]);
  said.htmlFor = slider.id;
  return made;
};

/** Wire: diameter and kind are picked together. */
const wire = (choices) => {
  const select = el("select");
  const fill = () => options(select, [["", "chosen for the demand"],
    ...choices.wires.map((w) => [`${w.diameter_mm}|${w.kind}`, `${length(w.diameter_mm, 3)} ${lengthUnit()} ${w.title}`])]);
  select.addEventListener("change", () => {
    const [mm, kind] = select.value.split("|");
    put("wire_mm", mm ? Number(mm) : undefined);
    put("wire_kind", kind);
    changed();
  });
  const show = () => {
    fill();
    const { wire_mm: mm, wire_kind: kind } = asked.job;
    const value = mm === undefined ? "" : `${mm}|${kind ?? choices.default_wire_kind}`;
    if (mm !== undefined && ![...select.options].some((option) => option.value === value)) {
      select.append(el("option", { value }, `${length(mm, 3)} ${lengthUnit()} ${kind ?? ""}`));
    }
    select.value = value;
  };
  fields.push({ keys: ["wire_mm", "wire_kind"], control: select, show });
  const made = field("wire_mm", "Wire", select);
  made.append(el("p", { class: "wrong", id: "wrong-wire_kind", hidden: true }));
  return made;
};

/** Builds the form; `onChange` is called after each change. */
export const buildForm = (choices, onChange) => {
  changed = onChange;
  fields = [];
  const named = (list) => list.map(({ name, title }) => [name, title]);
  const machines = choices.machines.filter(({ name }) => name !== choices.default_machine);
  const usual = choices.machines.find(({ name }) => name === choices.default_machine);
  const swing = choices.room_swing_k;
  const made = [
    thickness(),
    choice("material", "Material", [["", "not given yet"], ...named(choices.materials)]),
    words("finish", "Finish", `${choices.default_finish}, N5, VDI 12, 16 µin`),
    words("tolerance", "Tolerance", `${choices.default_tolerance}, 25H7, IT6, +0.02/-0.01`),
    passes(choices.most_passes),
    wire(choices),
    choice("machine", "Machine", [["", usual?.title ?? choices.default_machine], ...named(machines)]),
    number("quantity", "Pieces ordered", { min: "1", step: "1", placeholder: "as many as are drawn" }),
    number("pieces_per_load", "Pieces in one load", { min: "1", step: "1", placeholder: "as many as are drawn" }),
    number("room_swing_k", "Day/night swing of room temperature", { min: "0.5", step: "0.5", placeholder: `${swing.expected}`, suffix: "K" }),
    words("tab", "Tabs: none, or length in mm", "default"),
    choice("tab_face", "Tab stub of a part", [["", "stoned by hand"], ["skimmed", "skimmed, the part clamped"]]),
    choice("slug", "Slugs", [["", "default: the cheaper for small ones"], ["stop", "stop, secure and remove"], ["coreless", "coreless: cut away in rings"]]),
    blank(),
    distance("margin_mm", "Stock around the part"),
    choice("clamp", "Clamped side of the blank", [["", "none named"], ["left", "left"], ["right", "right"], ["top", "top"], ["bottom", "bottom"]]),
    distance("drill_mm", "Diameter of proposed start holes"),
    distance("clamp_depth_mm", "Clamp depth"),
    choice("nozzles", "Nozzles", [["", "sealed on the work"], ["one-open", "one open"], ["both-open", "both open"]]),
    choice("prefer", "If several qualify, prefer", [["", "fewer passes, less time"], ["cost", "less cost"], ["finish", "finer finish"], ["accuracy", "smaller error"]]),
    choice("units", "Unit of the drawing", [["", "as the drawing says"], ...choices.units.map((unit) => [unit, unit])]),
  ];
  // A key without a field of its own gets one by what its value is.
  const held = new Set(fields.flatMap(({ keys }) => keys));
  const others = choices.keys.filter(({ key }) => !held.has(key)).map(ofKey);
  byId("fields").replaceChildren(...made, el("details", { class: "others" }, el("summary", {}, "More requirements"), el("div", { class: "fields" }, ...others)));
};

/** Puts what is asked into the fields. */
export const showForm = () => fields.forEach(({ show }) => show());

/** Puts a sentence beside the field that it is about; gives whether there is such a field. */
export const showWrong = (refused) => {
  for (const { keys, control } of fields) {
    const mine = refused && keys.includes(refused.about);
    control.toggleAttribute("aria-invalid", false);
    if (mine) control.setAttribute("aria-invalid", "true");
    const folded = mine && control.closest("details");
    if (folded) folded.open = true;
  }
  for (const place of document.querySelectorAll(".wrong[id^='wrong-']")) {
    const mine = refused && place.id === `wrong-${refused.about}`;
    place.hidden = !mine;
    place.textContent = mine ? sentence(refused) : "";
  }
  return Boolean(refused && document.getElementById(`wrong-${refused.about}`));
};

export const sentence = ({ sentence: words, remedy }) => {
  const capital = (text) => text.charAt(0).toUpperCase() + text.slice(1);
  const ended = (text) => (/[.!?]$/.test(text) ? text : `${text}.`);
  return [words, remedy].filter(Boolean).map((text) => ended(capital(text))).join(" ");
};
