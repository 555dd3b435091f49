// What a finding may be settled by: one change of what is asked, as a button.

import { leaveOut, put, putUse } from "./job.js";
import { capital, el } from "./words.js";

const apply = ({ key, name, value }) => {
  if (key === "ignore_layers") leaveOut(value);
  else if (name !== null) putUse(key, name, value);
  else put(key, value);
};

/** Takes the plan of a candidate. */
export const take = (candidate) => {
  put("wire_mm", `${candidate.wire_mm} mm`);
  put("wire_kind", candidate.wire_kind);
  put("machine", candidate.machine);
  const alike = new Set(candidate.passes_by_group).size <= 1;
  put("passes", alike ? candidate.passes : undefined);
};

/** A mend that is one of the alternatives: told with what it takes, as soon as that is known. */
const byCandidate = (words, index, alternatives, changed) => {
  if (index === null || index === undefined) return null;
  const button = el("button", { type: "button", class: "mend" }, `${words}: ${alternatives.in_short[index].split("; lacks")[0]}`);
  button.addEventListener("click", () => { take(alternatives.side_by_side[index]); changed(); });
  return button;
};

/** Buttons for the changes that may settle a finding. */
export const mendButtons = (mends, alternatives, changed) => mends.map(({ says, sets }) => {
  if (!sets) return alternatives ? byCandidate(capital(says), alternatives.finer_wire, alternatives, changed) : null;
  const button = el("button", { type: "button", class: "mend" }, capital(says));
  button.addEventListener("click", () => { apply(sets); changed(); });
  return button;
}).filter(Boolean);

/** One pass more, where what is asked is not reached. */
export const onePassMore = (alternatives, changed) => (alternatives ? byCandidate("Make one pass more", alternatives.one_pass_more, alternatives, changed) : null);
