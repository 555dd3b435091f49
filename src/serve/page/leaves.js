// The further sheets: one of them lies open beside the drawing, which stays in view.

import { byId, el } from "./words.js";

const leaves = () => [...document.querySelectorAll("[data-leaf]")];
/** Which may be opened, by what there is to show. */
let there = new Set();
let open = null;
let opened = () => {};

const tabOf = (id) => byId("leaf-tabs").querySelector(`[data-opens="${id}"]`);

const show = () => {
  byId("leaf").hidden = open === null;
  byId("main").classList.toggle("with-leaf", open !== null);
  for (const leaf of leaves()) {
    leaf.hidden = leaf.id !== open;
    tabOf(leaf.id).setAttribute("aria-expanded", String(leaf.id === open));
    tabOf(leaf.id).hidden = !there.has(leaf.id);
  }
};

/** Opens a sheet, or with nothing closes the one that is open. */
export const openLeaf = (id) => {
  open = id !== null && there.has(id) ? id : null;
  show();
  if (open !== null) opened(open);
};

export const isOpen = (id) => open === id;

/** Says what there is to show: a drawing, a plan, several drawings; `counts` stand beside the names of sheets. */
export const offerLeaves = (what, counts) => {
  there = new Set(leaves().filter(({ dataset }) => !dataset.needs || what.has(dataset.needs)).map(({ id }) => id));
  if (open !== null && !there.has(open)) open = null;
  for (const leaf of leaves()) {
    const count = counts[leaf.id];
    tabOf(leaf.id).textContent = count ? `${leaf.dataset.leaf} ${count}` : leaf.dataset.leaf;
    if (count === 0) there.delete(leaf.id);
  }
  show();
};

/** Listens to the names of the sheets; `whenOpened` is called with the one that is opened. */
export const listenLeaves = (whenOpened) => {
  opened = whenOpened;
  byId("leaf-tabs").replaceChildren(...leaves().map((leaf) => {
    const tab = el("button", { type: "button", "aria-expanded": "false", "aria-controls": leaf.id }, leaf.dataset.leaf);
    tab.dataset.opens = leaf.id;
    tab.addEventListener("click", () => openLeaf(open === leaf.id ? null : leaf.id));
    return tab;
  }));
  const close = () => {
    const tab = open && tabOf(open);
    openLeaf(null);
    tab?.focus();
  };
  byId("leaf-close").addEventListener("click", close);
  byId("leaf").addEventListener("keydown", (event) => { if (event.key === "Escape") { event.preventDefault(); close(); } });
  offerLeaves(new Set(), {});
};
