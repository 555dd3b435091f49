// The menu at a contour: what it is, what is asked of it, and where the wire starts and its tab stands.

import { partOf, putPart, putUse, useOf } from "./job.js";
import { USES } from "./results.js";
import { byId, capital, el, lengthWords } from "./words.js";

let openedFrom = null;

const box = () => byId("place-menu");

export const closeMenu = () => {
  if (box().hidden) return;
  box().hidden = true;
  openedFrom?.focus({ preventScroll: true });
};

const labelled = (words, control) => el("label", { class: "menu-row" }, el("span", {}, words), control);

const choose = (kind, name, changed) => {
  const select = el("select", {}, USES.map(([value, text]) => el("option", { value }, text)));
  select.value = useOf(kind, name);
  select.addEventListener("change", () => { putUse(kind, name, select.value); changed(); });
  return select;
};

const requirement = (number, key, placeholder, changed) => {
  const input = el("input", { type: "text", placeholder, spellcheck: false });
  input.value = partOf("contour", number, key);
  input.addEventListener("change", () => { putPart("contour", number, key, input.value.trim()); changed(); });
  return input;
};

const measured = (number, key, placeholder, changed) => {
  const input = el("input", { type: "number", min: "0", step: "any", placeholder });
  input.value = partOf("contour", number, key);
  input.addEventListener("change", () => { putPart("contour", number, key, input.value === "" ? "" : Number(input.value)); changed(); });
  return input;
};

const placed = (number, key, words, at, changed) => {
  const button = el("button", { type: "button" }, words);
  button.addEventListener("click", () => { putPart("contour", number, key, at.map((mm) => Number(mm.toFixed(3)))); changed(); closeMenu(); });
  const given = partOf("contour", number, key);
  if (!given) return [button];
  const back = el("button", { type: "button" }, "Leave it to the tool");
  back.addEventListener("click", () => { putPart("contour", number, key, ""); changed(); });
  return [button, back];
};

/** Opens the menu of a contour at a place of the window; `at` is the point of the part there, `takes` what it takes and costs. */
export const openMenu = (contour, [x, y], { at, takes, asks, changed, more }) => {
  const number = String(contour.id);
  if (box().hidden) openedFrom = document.activeElement;
  const size = [lengthWords(contour.bbox_mm[2] - contour.bbox_mm[0], 3), lengthWords(contour.bbox_mm[3] - contour.bbox_mm[1], 3)].join(" × ");
  const close = el("button", { type: "button", class: "menu-close", "aria-label": "Close" }, "×");
  close.addEventListener("click", closeMenu);
  const further = el("button", { type: "button" }, "All layers and contours");
  further.addEventListener("click", () => { closeMenu(); more(contour.id); });
  const cut = contour.use === "cut";
  const open = contour.role === "open";
  const kept = contour.kept_side ? `material ${contour.kept_side} stays (${contour.side_from})` : "no side";
  const head = el("h2", { tabIndex: -1 }, `Contour ${number}`, el("span", { class: "quiet" }, ` · layer ${contour.layer || "(no name)"}`));
  box().replaceChildren(close, head,
    el("p", {}, `${capital(contour.purpose.replace("-", " "))}; ${kept}.`),
    el("p", { class: "quiet" }, `Length ${lengthWords(contour.perimeter_mm)}, ${size}.`, takes ? ` ${takes}` : ""),
    labelled("This contour is for", choose("contour", number, changed)),
    labelled(`Layer ${contour.layer || "(no name)"} is for`, choose("layer", contour.layer, changed)),
    ...(cut ? [
      labelled("Finish", requirement(number, "finish", asks?.finish ?? "as for the job", changed)),
      labelled("Tolerance", requirement(number, "tolerance", asks?.tolerance ?? "as for the job", changed)),
    ] : []),
    ...(contour.purpose === "slit" ? [labelled("Width, mm", measured(number, "width_mm", "one kerf", changed))] : []),
    el("p", { class: "form-tools" }, open ? placed(number, "keep", "This side stays", at, changed) : [], cut && !open ? [placed(number, "start_mm", "Start the wire here", at, changed), placed(number, "tab_at_mm", "Tab here", at, changed)].flat() : []),
    el("p", { class: "quiet" }, `Here is x ${lengthWords(at[0], 3)}, y ${lengthWords(at[1], 3)}.${cut && !open ? " Start and tab can also be dragged on the drawing." : ""}`),
    el("p", { class: "form-tools" }, further));
  box().hidden = false;
  const { offsetWidth: width, offsetHeight: height } = box();
  box().style.left = `${Math.max(8, Math.min(x + 12, innerWidth - width - 8))}px`;
  box().style.top = `${Math.max(8, Math.min(y + 12, innerHeight - height - 8))}px`;
  head.focus({ preventScroll: true });
};

export const listenMenu = () => {
  box().addEventListener("keydown", (event) => { if (event.key === "Escape") { event.preventDefault(); closeMenu(); } });
  document.addEventListener("pointerdown", (event) => { if (!box().hidden && !box().contains(event.target) && !event.target.closest?.(".contour")) closeMenu(); });
};
