// Everything below the drawing, from one answer of the server.

import { putUse, useOf } from "./asked.js";
import { sidesWords } from "./questions.js";
import { amount, area, areaUnit, bandPicture, byId, el, fixed, length, lengthUnit, lengthWords, plural, roughness, small, smallUnit, smallWords, spread, table, time, timeBand } from "./words.js";

const USES = [["", "as drawn"], ["cut", "cut, the side as the edges around say"], ["part", "part: wire outside"], ["opening", "opening: wire inside"], ["existing", "already machined"], ["not-now", "not cut this time"], ["start-hole", "start hole, to be drilled"],
  ["ready-hole", "start hole, drilled already"], ["blank", "outline of the blank"], ["frame", "frame of the sheet"], ["thread", "sign of a thread"], ["reference", "for reference"], ["ignore", "leave out"]];
const SIDE_FROM = { drawn: "drawn", given: "given", assumed: "assumed", unclear: "open" };
const QUESTIONS = ["side-unclear", "purpose-unclear"];
const PRESENCE = { unattended: "by itself", attended: "attended", elsewhere: "on another machine" };
const VERDICT = {
  "expected-inside": "the model expects the size inside the limits",
  undecided: "the uncertainty reaches over a limit: not decided before measuring",
  "expected-outside": "the model expects the size outside the limits",
};
const OFFSET = { gauged: "with the offset gauged on a test piece", modelled: "with the offset as modelled" };
const verdictOf = ({ verdict, accuracy }) => (verdict ? `${OFFSET[accuracy.offset_basis]} ${VERDICT[verdict]}` : null);

/** What is drawn, where it is more than one part: `6 equal parts: 12 parts ordered in 2 loads`. */
const partsDrawn = ({ pieces }) => {
  const total = pieces.kinds.reduce((sum, { count }) => sum + count, 0);
  if (total < 2 && pieces.quantity === 1) return "";
  const named = pieces.kinds.map(({ count, mirror_of: image }, i) => (image !== null ? `${count} mirrored` : i > 0 ? `${plural(count, "other part")}` : count > 1 ? `${count} equal parts` : "1 part"));
  const sets = pieces.piece === "set" ? ` (${plural(pieces.drawn, "set")} drawn)` : "";
  return `${named.join(", ")}: ${plural(pieces.quantity, pieces.piece)} ordered${sets}, ${pieces.pieces_per_load} in a load, ${plural(pieces.loads, "load")}.`;
};

/** What times and costs are for. */
const allDrawn = ({ pieces }) => (pieces.drawn > 1 ? `all ${pieces.drawn} pieces drawn` : "a piece");

/** The sentence under the drawing. */
export const headline = (answer) => {
  const totals = answer.totals;
  const units = `Read in ${answer.units.name}${answer.units.source === "assumed" ? " (assumed)" : ""}`;
  const read = `${units}: ${plural(totals.closed_contours, "closed contour")}${totals.open_chains ? `, ${plural(totals.open_chains, "open chain")}` : ""}, ${lengthWords(totals.cut_perimeter_mm, 3)} to cut.`;
  const sides = sidesWords(answer);
  const open = answer.questions.filter((question) => !question.assumed).length;
  const counts = ["error", "warning", "note"].map((severity) => [severity, answer.findings.filter((f) => f.severity === severity).length]).filter(([, n]) => n > 0);
  const found = counts.length === 0 ? `None of these ${answer.checks.length} checks found a flaw.` : `The checks found ${counts.map(([severity, n]) => plural(n, severity)).join(", ")}.`;
  const planned = [];
  if (answer.planned) {
    const last = answer.quality.map((q) => roughness(q.surface.ra_um.expected)).join(" and ");
    const passes = [...new Set(answer.asked.map(({ group }) => answer.passes.filter((p) => p.group === group).length))].join(" and ");
    const minutes = answer.estimate.machine_minutes;
    planned.push(el("p", {},
      el("span", { class: "big" }, minutes ? time(minutes.expected) : "time not given"),
      minutes ? ` at the machine for ${allDrawn(answer)}${timeBand(minutes).replace(/^[^(]*/, " ").trimEnd()}` : `: ${open > 0 ? `${plural(open, "question")} open` : answer.estimate.no_totals}`,
      `, ${passes} ${passes === "1" ? "pass" : "passes"} with ${lengthWords(answer.wire.diameter_mm, 3)} ${answer.wire.kind ?? ""} wire, Ra ${last} expected.`));
    const drawn = partsDrawn(answer);
    if (drawn) planned.push(el("p", {}, drawn));
    const verdicts = [...new Set(answer.quality.map(verdictOf).filter(Boolean))];
    const reach = answer.planned.reaches_demand || answer.estimate.no_totals ? [] : ["Nothing in the book reaches what is asked, even with the offset gauged; this is the nearest."];
    planned.push(el("p", { class: "quiet" }, [...reach, ...verdicts.map((words) => `${words.charAt(0).toUpperCase()}${words.slice(1)}.`), `${answer.estimate.confidence.charAt(0).toUpperCase()}${answer.estimate.confidence.slice(1)}.`, "The model expects; prove by measuring."].join(" ")));
  }
  byId("headline").replaceChildren(...planned, el("p", { class: "quiet" }, `${read} ${sides ? `Sides: ${sides}. ` : ""}${found}`));
};

/** The findings, and what was assumed; `show` takes the number of a finding that has a place. */
export const findings = (answer, show) => {
  const EACH = 8;
  const seen = new Map();
  const rows = answer.findings.map((finding, i) => {
    const count = (seen.get(finding.name) ?? 0) + 1;
    seen.set(finding.name, count);
    if (count > EACH) return null;
    const where = [
      finding.at_mm ? `x ${length(finding.at_mm[0])} y ${length(finding.at_mm[1])} ${lengthUnit()}` : null,
      finding.contour ? `contour ${finding.contour}` : null,
      finding.layer ? `layer ${finding.layer}` : null,
      finding.line ? `line ${finding.line} of the file` : null,
    ].filter(Boolean).join(", ");
    const button = finding.at_mm ? el("button", { type: "button", "aria-label": `Show finding ${i + 1} on the drawing` }, "Show on the drawing") : null;
    button?.addEventListener("click", () => show(i + 1));
    const row = el("li", { class: finding.severity },
      el("p", {}, el("span", { class: "severity" }, `${i + 1}  ${finding.severity}`), " ", el("code", {}, finding.name), ` : ${finding.message}`),
      where ? el("p", { class: "quiet" }, where) : null,
      // The answers to a question are buttons.
      QUESTIONS.includes(finding.name) ? el("p", {}, "Answer it under Questions.") : finding.remedy ? el("p", {}, finding.remedy) : null, button);
    row.dataset.finding = i + 1;
    return row;
  });
  const more = [...seen].filter(([, count]) => count > EACH).map(([name, count]) => el("p", { class: "quiet" }, `… and ${count - EACH} more ${name}; the JSON lists all.`));
  const none = el("p", {}, `None of these ${plural(answer.checks.length, "check")} found a flaw. That does not say that the drawing is fit to cut.`);
  const assumed = answer.assumptions.length > 0
    ? [el("h3", {}, "What was assumed"), el("ul", {}, answer.assumptions.map((words) => el("li", {}, words)))] : [];
  const ignored = answer.ignored.length > 0
    ? [el("h3", {}, "What was left out"), el("ul", {}, answer.ignored.map(({ type, count, reason }) => el("li", {}, `${count} ${type}: ${reason}`)))] : [];
  byId("findings-body").replaceChildren(rows.length > 0 ? el("ul", { class: "finding-list", role: "list" }, rows) : none, ...more, ...assumed, ...ignored);
};

/** Marks a finding in the list. */
export const tellFinding = (number, focus) => {
  for (const row of document.querySelectorAll("#findings-body [data-finding]")) {
    const mine = Number(row.dataset.finding) === number;
    row.classList.toggle("told", mine);
    if (mine && focus) {
      row.tabIndex = -1;
      row.focus({ preventScroll: true });
      row.scrollIntoView({ block: "nearest" });
    }
  }
};

export const passes = (answer) => {
  const groups = answer.asked.map(({ group, contours }) => {
    const rows = answer.passes.filter((row) => row.group === group).map((row) => ({
      data: { pass: row.pass, group },
      cells: [`${row.pass} ${row.kind}`, small(row.offset_mm * 1000), small(row.spark_gap_mm * 1000), small(row.stock_mm * 1000),
        fixed(row.feed_mm_min, 2), row.path_length_mm === null ? "–" : length(row.path_length_mm, 4),
        row.cut_area_mm2 === null ? "–" : area(row.cut_area_mm2), row.minutes === null ? "–" : fixed(row.minutes, 1),
        row.minutes_band ? `${fixed(row.minutes_band.low, 1)} to ${fixed(row.minutes_band.high, 1)}` : "–", roughness(row.ra_um)],
    }));
    const caption = answer.asked.length > 1 ? `Group ${group}: contours ${contours.join(", ")}` : "Offset: from the wire's centre to the finished wall. Model offsets: cut and gauge a test piece first.";
    return table([["Pass"], [`Offset ${smallUnit()}`, 1], [`Gap ${smallUnit()}`, 1], [`Stock left ${smallUnit()}`, 1], ["Feed mm/min", 1],
      [`Path ${lengthUnit()}`, 1], [`Cut area ${areaUnit()}`, 1], ["Minutes", 1], ["may be", 1], ["Ra if last", 1]], rows, caption);
  });
  // What waits for an answer stands under the questions.
  const open = new Set(answer.contours.filter((contour) => contour.side_from === "unclear").map((contour) => contour.id));
  const refused = (answer.refused ?? []).filter((row) => !open.has(row.contour));
  const leftOut = (answer.left_out ?? []).filter((row) => !open.has(row.contour));
  const unreached = answer.unreached ?? [];
  const LISTED = 40;
  byId("passes-body").replaceChildren(...groups,
    ...(leftOut.length > 0 ? [el("p", { class: "wrong" }, "Left out, without path, start hole, lead, step, time or cost: ", leftOut.slice(0, LISTED).map((c) => `contour ${c.contour} (${c.reason})`).join("; "), leftOut.length > LISTED ? `; and ${leftOut.length - LISTED} more` : "")] : []),
    ...(refused.length > 0 ? [el("p", { class: "wrong" }, "Refused paths; no total and no price is given: ", refused.map((r) => `contour ${r.contour}, pass ${r.pass}: ${r.reason}`).join("; "))] : []),
    ...(answer.planned.verified_um === null ? [] : [el("p", { class: "quiet" }, `Every path was measured against its contour; the worst is ${answer.planned.verified_um < 0.0001 ? "less than 0.0001" : fixed(answer.planned.verified_um, 4)} µm off its offset.`)]),
    ...(unreached.length > 0 ? [table([["Not reached by the last pass"], [`x ${lengthUnit()}`, 1], [`y ${lengthUnit()}`, 1], [`Stays, up to ${smallUnit()}`, 1]],
      unreached.slice(0, LISTED).map((u) => [`contour ${u.contour}, ${u.kind.replaceAll("-", " ")}`, length(u.at_mm[0]), length(u.at_mm[1]), small(u.deviation_mm * 1000)]),
      unreached.length > LISTED ? `${LISTED} of ${unreached.length} places; the JSON lists all` : undefined)] : []));
};

const bandCells = (band, most, decimals) => {
  const [low, expected, high] = [band.low, band.expected, band.high].map((value) => fixed(value, decimals));
  return [el("span", {}, bandPicture(band, most)), low === expected ? "–" : low, expected, high === expected ? "–" : high];
};
const BAND = [["may be"], ["low", 1], ["expected", 1], ["high", 1]];

const span = (band, decimals, unit) => spread([band.low, band.expected, band.high].map((value) => fixed(value, decimals)), unit);

/** Terms of time. */
export const times = (answer) => {
  const estimate = answer.estimate;
  if (!estimate.time_terms) { byId("time-body").replaceChildren(el("p", {}, `Not given: ${estimate.no_totals}.`)); return; }
  const rows = [...estimate.time_terms.map((term) => [term.name, PRESENCE[term.presence], term]), ["set-up, once a load", "attended", estimate.setup_minutes]];
  const sums = [[`at the machine, ${allDrawn(answer)}`, "", estimate.machine_minutes], ["somebody attends", "", estimate.attended_minutes], ["the order at the machine, with set-ups", "", estimate.order_minutes]];
  const most = Math.max(...[...rows, ...sums].map(([, , band]) => band.high));
  const made = [...rows, ...sums].map(([name, who, band]) => [name, who, ...bandCells(band, most, 1)]);
  const wire = estimate.wire_m ? `Wire: ${span(estimate.wire_m, 0, " m")}, ${fixed(estimate.wire_kg.expected, 2)} kg.` : "";
  byId("time-body").replaceChildren(table([["Minutes"], [""], ...BAND], made, `Where the time of ${allDrawn(answer)} goes`), el("p", { class: "quiet" }, wire));
};

const BLANK = { included: "included, by mass", "no-price": "not included: the shop data has no price for it", "no-blank": "not included: the size of the blank is not given" };

/** What the order takes, all its pieces together. */
const order = ({ estimate: { order: all }, pieces }) => {
  if (!all) return [];
  const rows = [["machine, with set-ups", timeBand(all.machine_minutes)], ["shifts of machine time", span(all.shifts, 2, "")],
    ["days", `${all.work_days} with a shift, ${all.calendar_days} by the calendar`], ["operator at the machine", timeBand(all.attended_minutes)],
    ["set-ups", timeBand(all.setup_minutes)], ["their share of a piece", timeBand(all.setup_share_minutes)],
    ...(all.drilling_minutes ? [["start holes, on another machine", timeBand(all.drilling_minutes)]] : []),
    ["programming", timeBand(all.programming_minutes)], ["inspection", timeBand(all.inspection_minutes)],
    ["wire", `${span(all.wire_m, 0, " m")}, ${span(all.wire_kg, 2, " kg")}`], ["spools", `${span(all.spools, 2, "")}, ${span(all.spool_changes, 0, "")} changes`],
    ...(all.blank_kg ? [["blanks", span(all.blank_kg, 2, " kg")]] : []), ["blank material", BLANK[all.blank_material]]];
  return [table([["Order"], ["expected, and what it may be"]], rows, `What the order of ${plural(pieces.quantity, pieces.piece)} takes`)];
};

/** Fixed and per piece, band first. */
export const ledger = (answer) => {
  const { ledger: book, currency, cost, cost_fixed: once, cost_each: each, cost_piece: piece, price } = answer.estimate;
  const several = answer.pieces.drawn > 1;
  if (!book) { byId("money-body").replaceChildren(el("p", {}, `Not given: ${answer.estimate.no_totals}.`)); return; }
  const words = (band) => amount(band, 2, ` ${currency}`);
  const side = (title, sum, lines) => {
    const most = Math.max(...lines.map((line) => line.high));
    return el("div", {}, el("h3", {}, title), el("p", { class: "ledger-sum" }, el("strong", {}, words(sum))),
      table([["Line"], ...BAND], lines.map((line) => [line.name, ...bandCells(line, most, 2)])));
  };
  byId("money-body").replaceChildren(...order(answer), el("div", { class: "ledger" }, side("Once", once, book.fixed), side(several ? `All ${answer.pieces.drawn} pieces drawn` : "Each piece", each, book.each)),
    ...(several ? [el("p", {}, `One piece of ${answer.pieces.drawn}: ${words(piece)}.`)] : []),
    el("p", {}, `The order, without margin: ${words(cost)}. With margin: ${words(price)}.`),
    el("p", { class: "quiet" }, `${answer.estimate.confidence}.`));
};

/** The accuracy budget of each demand group. */
export const accuracy = (answer) => {
  const parts = answer.quality.map((quality) => {
    const { group, surface, accuracy: budget } = quality;
    const verdict = verdictOf(quality);
    const asked = answer.asked.find((a) => a.group === group);
    const title = answer.quality.length > 1 ? [el("h3", {}, `Group ${group}: contours ${asked.contours.join(", ")}`)] : [];
    const wall = `Ra ${roughness(surface.ra_um.expected)} (${roughness(surface.ra_um.low)} to ${roughness(surface.ra_um.high)})${surface.n_grade ? `, about N${surface.n_grade}` : ""}, VDI class ${fixed(surface.vdi_class.expected, 0)}, recast layer about ${smallWords(surface.recast_um.expected)}. Never an acceptance.`;
    if (!budget) return el("div", {}, title, el("p", {}, wall), el("p", {}, answer.estimate.no_totals ? `Not given: ${answer.estimate.no_totals}.` : "Not known: a part of it is not skimmed."));
    const most = Math.max(...budget.terms.map((term) => term.on_size_um.high));
    const rows = budget.terms.map((term) => [term.name, el("span", {}, bandPicture(term.on_size_um, most)), smallWords(term.per_side_um.expected), smallWords(term.on_size_um.expected), term.remedy]);
    const limits = asked.lower_mm === null ? "" : `Asked: ${smallWords(asked.lower_mm * 1000)} to ${smallWords(asked.upper_mm * 1000)} ${asked.limits_of === "wall" ? "on the wall" : "on the size"}. `;
    return el("div", {}, title,
      el("p", { class: "ledger-sum" }, "On size: ", el("strong", {}, `± ${smallWords(budget.expanded_um.expected)}`), ` (± ${smallWords(budget.expanded_um.low)} to ${smallWords(budget.expanded_um.high)}, k = ${budget.k})`,
        Math.abs(budget.bias_on_size_um.expected) > 0.05 ? `, and a known shift of ${smallWords(budget.bias_on_size_um.expected)}` : "",
        `, ${OFFSET[budget.offset_basis]}${budget.offset_basis === "gauged" ? `; before that, as modelled, ± ${smallWords(budget.expanded_modelled_um.expected)}` : ""}`),
      el("p", {}, limits, verdict ? `${verdict.charAt(0).toUpperCase()}${verdict.slice(1)}.` : ""),
      table([["Standard uncertainty"], ["on size"], ["per side", 1], ["on size", 1], ["what makes it smaller"]], rows, "Combined by squares, as in the GUM (JCGM 100)"),
      el("p", { class: "quiet" }, wall));
  });
  byId("accuracy-body").replaceChildren(...parts);
};

/** Layers and contours with what they are for; `changed` after each choice, `tell` with contours to mark. */
export const layers = (answer, changed, tell) => {
  const LISTED = 150;
  const byLayer = new Map();
  for (const contour of answer.contours) {
    const held = byLayer.get(contour.layer) ?? [];
    held.push(contour);
    byLayer.set(contour.layer, held);
  }
  const choose = (kind, name, words) => {
    const select = el("select", { "aria-label": words }, USES.map(([value, text]) => el("option", { value }, text)));
    select.id = `use-${kind}-${name}`;
    select.value = useOf(kind, name);
    select.addEventListener("change", () => { putUse(kind, name, select.value); changed(); });
    return select;
  };
  const mark = (ids, words) => {
    const button = el("button", { type: "button" }, words);
    button.addEventListener("click", () => tell(ids));
    return button;
  };
  const used = (contours) => [...new Set(contours.map((c) => c.purpose.replace("-", " ")))].join(", ");
  const layerRows = [...byLayer].map(([name, contours]) => [name || "(no name)", String(contours.length), length(contours.reduce((sum, c) => sum + c.perimeter_mm, 0), 3), used(contours),
    choose("layer", name, `What layer ${name} is for`), mark(contours.map((c) => c.id), "Mark")]);
  const contourRows = answer.contours.slice(0, LISTED).map((c) => ({
    data: { contour: c.id },
    cells: [String(c.id), c.layer, c.role, length(c.perimeter_mm, 4), c.closed ? area(c.area_mm2) : "–",
      c.min_inside_radius_mm === null ? "–" : c.min_inside_radius_mm === 0 ? "sharp" : length(c.min_inside_radius_mm, 4), c.purpose.replace("-", " "), SIDE_FROM[c.side_from] ?? "–",
      choose("contour", String(c.id), `What contour ${c.id} is for`), mark([c.id], "Mark")],
  }));
  byId("layers-body").replaceChildren(
    table([["Layer"], ["contours", 1], [`length ${lengthUnit()}`, 1], ["taken as"], ["is for"], [""]], layerRows),
    el("details", { open: answer.contours.length <= 12 }, el("summary", {}, `Each contour (${answer.contours.length})`),
      table([["No."], ["layer"], ["role"], [`perimeter ${lengthUnit()}`, 1], [`area ${areaUnit()}`, 1], [`inside radius ${lengthUnit()}`, 1], ["taken as"], ["side"], ["is for"], [""]], contourRows,
        answer.contours.length > LISTED ? `The first ${LISTED} of ${answer.contours.length}; the JSON lists all` : undefined)));
};

/** Marks contours in the list. */
export const tellRows = (ids) => {
  for (const row of document.querySelectorAll("#layers-body [data-contour]")) row.classList.toggle("told", ids.includes(Number(row.dataset.contour)));
};
