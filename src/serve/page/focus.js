// The focus is never lost: where what had it is made anew, its successor gets it, or the part of the page that it stood in.

/** What an element is found by after it was made anew. */
const marks = (element) => {
  const own = [...element.attributes].filter(({ name }) => name.startsWith("data-") || name === "aria-label").map(({ name, value }) => `[${name}="${CSS.escape(value)}"]`).join("");
  return { id: element.id, own, tag: element.localName, words: element.textContent };
};

const successor = (region, { id, own, tag, words }) => {
  if (id) return document.getElementById(id);
  const alike = [...region.querySelectorAll(own ? `${tag}${own}` : tag)];
  return alike.find((one) => one.textContent === words) ?? (own ? alike[0] : undefined);
};

/** Makes a part of the page anew. */
export const keepFocus = (remake) => {
  const before = document.activeElement;
  const region = before?.closest("section[id], .stamp, .view, .leaf, main");
  const mark = before && region ? marks(before) : null;
  remake();
  if (!mark || before.isConnected) return;
  const next = successor(region, mark);
  if (next?.checkVisibility()) { next.focus({ preventScroll: true }); return; }
  region.tabIndex = region.hasAttribute("tabindex") ? region.tabIndex : -1;
  region.focus({ preventScroll: true });
};
