// The page as a whole: what is open, what is asked, and where each part of an answer is shown.

import { answersAreSaved, asked, forgetName, fromFragment, hasUnsavedAnswers, put, putJob, toFragment } from "./job.js";
import { askNow, askSoon, listenAsking } from "./asking.js";
import { Refused, carry, save, stem } from "./carrier.js";
import { buildCells, sentence, showCells, showUnderstood, showWrong } from "./cells.js";
import * as drawing from "./drawing.js";
import { keepFocus } from "./focus.js";
import { listenHandles, showHandles } from "./handles.js";
import { buildHelp, startTour } from "./help.js";
import { isOpen, listenLeaves, offerLeaves, openLeaf } from "./leaves.js";
import { saveList, showList, stopList } from "./list.js";
import { listenMagnifier, magnify } from "./magnifier.js";
import { listenMeasure, measureWire } from "./measure.js";
import { take } from "./mend.js";
import { closeMenu, listenMenu, openMenu } from "./menu.js";
import { listenPair, showPair } from "./pair.js";
import { focusChart, showChart, showDay } from "./pick.js";
import { holdMotion, listenPlayer, partUnder, showMotion } from "./player.js";
import { makePrint, oldPrint } from "./printing.js";
import { showQuestions } from "./questions.js";
import { buildReadings } from "./readings.js";
import * as results from "./results.js";
import { buildShop, layOver, rememberJob } from "./shop.js";
import { showHead, showWorst } from "./stamp.js";
import { byId, el, putNamelessPicture, say, showInch, svg } from "./words.js";

const DIE = { typed: { material: "tool-steel", thickness_mm: "30 mm" }, job: { layer: { PLATE: { use: "existing" }, SCREWS: { use: "existing" }, START: { use: "start-hole" } } } };
const DEMOS = [
  ["hand-die", "die for a hand", DIE],
  ["hand-punch", "punch for a hand", { typed: { material: "tool-steel", thickness_mm: "40 mm" } }],
  ["ratchet", "ratchet", { typed: { material: "tool-steel", thickness_mm: "8 mm" } }],
  ["escape-wheel", "escape wheel", { typed: { material: "brass-c26000", thickness_mm: "4 mm" } }],
  ["decorative-hand", "decorative hand", { typed: { material: "brass-c26000", thickness_mm: "2 mm" } }],
];
const DOWNLOADS = [
  ["Job sheet", "/job-sheet.html", (name) => `${name}.html`],
  ["Drawing sheet", "/sheet.svg", (name) => `${name}.svg`],
  ["Paths, DXF", "/paths.dxf", (name) => `${name}-paths.dxf`],
  ["Row, CSV", "/row.csv", (name) => `${name}.csv`],
  ["Wires and passes, CSV", "/compare.csv", (name) => `${name}-compare.csv`],
  ["All data, JSON", "/plan.json", (name) => `${name}.json`],
  ["Inspection sheet", "/inspection.html", (name) => `${name}-inspection.html`],
  ["Sizes to measure, CSV", "/sizes.csv", (name) => `${name}-inspection.csv`],
  ["Points to probe, CSV", "/points.csv", (name) => `${name}-inspection-points.csv`],
];
/** Changes of one cell that follow one another are one step back. */
const ONE_STEP_MS = 1500;
const PRINT_AFTER_MS = 1500;

let drawings = [];
let current = -1;
let shownName = null;
let hiddenPasses = new Set();
let refocusChart = false;
let listWanted = false;
let steps = 0;
let lastChange = { key: null, at: 0 };
let printing = 0;
/** The last answer, and what came after it. */
let answer = null;
let alternatives = null;
let motion = null;

const now = () => drawings[current];
const wanted = () => ({ job: asked.job, typed: asked.typed, several: drawings.length > 1 });

// ---- asking ----

/** Something else is asked: a step that can be taken back. */
const change = (key) => {
  const goesOn = key !== undefined && key === lastChange.key && performance.now() - lastChange.at < ONE_STEP_MS;
  lastChange = { key: key ?? null, at: performance.now() };
  const fragment = `#${toFragment()}`;
  if (goesOn) history.replaceState({ step: steps }, "", fragment);
  else history.pushState({ step: ++steps }, "", fragment);
  byId("undo").disabled = false;
  showCells();
  askSoon();
};

const changed = () => change();

const listens = {
  begun: () => {
    stopList();
    clearTimeout(printing);
    oldPrint();
  },
  answer: (got) => { answer = got; alternatives = null; keepFocus(showAnswer); },
  rest: ({ plan, sections, pictures, ...got }) => {
    answer = { ...plan, ...answer, contours: plan.contours, sections, pictures: { ...answer.pictures, ...pictures } };
    ({ motion, alternatives } = got);
    keepFocus(showRest);
  },
  all: () => {
    showList(drawings, current, wanted(), open);
    rememberJob(now().name, toFragment());
    if (answer?.planned) printing = setTimeout(() => makePrint({ name: now().name, bytes: now().bytes, asked: wanted() }), PRINT_AFTER_MS);
  },
  refused: (refused) => refuse(refused),
};

/** What cannot be read is told where it stands; what was shown before stays, marked as old. */
const refuse = (refused) => {
  const about = byId(`wrong-${refused.about}`) ? refused : { ...refused, about: "page" };
  showWrong(about);
  if (about.about === "book") openLeaf("shop");
  old(true);
  if (!answer || shownName !== now()?.name) {
    byId("old-mark").hidden = true;
    if (!answer) byId("start").hidden = false;
  }
  say(sentence(refused));
};

const old = (yes) => {
  byId("main").classList.toggle("old", yes && answer !== null);
  byId("old-mark").hidden = !(yes && answer !== null);
};

// ---- showing ----

const showAnswer = () => {
  const planned = Boolean(answer.planned);
  const same = shownName === now().name;
  shownName = now().name;
  old(false);
  byId("start").hidden = true;
  byId("view").hidden = false;
  byId("view-tools").hidden = false;
  byId("part-name").textContent = now().name;
  byId("open-words").textContent = now().name;
  document.title = `${now().name} – kerfwright`;
  const wanting = answer.not_planned;
  // Nothing typed yet is no mistake: it is asked for, not complained of.
  const missing = wanting && asked.typed[wanting.about] === undefined && ["material", "thickness_mm"].includes(wanting.about);
  showWrong(missing ? null : wanting);
  if (wanting?.names?.length > 0) offerToForget(wanting.names);
  showUnderstood(answer.understood);
  drawing.showPicture(answer.pictures.overlay, same);
  showPins();
  showHead(answer);
  if (missing) byId("headline").append(el("p", { class: "ask" }, `Give the ${wanting.about === "material" ? "material" : "thickness"} to have it planned.`));
  showFindings();
  const open = showQuestions(answer, changed, markContours);
  if (isOpen("layers") && !planned) showLayers();
  const counts = { findings: answer.finding_groups.length || undefined, questions: open || undefined };
  if (answer.questions.length === 0 && Object.keys(asked.job.contour ?? {}).length === 0) counts.questions = 0;
  offerLeaves(new Set(["drawing", ...(planned ? ["plan"] : []), ...(drawings.length > 1 ? ["several"] : [])]), counts);
  if (listWanted) openLeaf("several");
  listWanted = false;
  motion = null;
  // The clock stays where it is, and stands, until the way of the new plan is there.
  if (planned) { holdMotion(); return; }
  showMotion(null);
  byId("passes-shown").replaceChildren();
  magnify([]);
  showHandles([], [], changed);
};

const showPins = () => drawing.showPins(answer.findings, answer.finding_groups, answer.unreached ?? [], (number, index) => tell(number, index, true));

/** Hundreds of contours take a while: they are listed when their sheet is opened. */
const showLayers = () => results.layers(answer, changed, tellContours);

/** What came in the second answer. */
const showRest = () => {
  showPins();
  showPassSwitches();
  magnify(answer.passes);
  measureWire(answer.wire.diameter_mm);
  results.passes(answer);
  putNamelessPicture(byId("wall-section"), answer.pictures.wall_section);
  results.times(answer);
  results.cost(answer);
  results.accuracy(answer);
  showPair(answer);
  if (isOpen("layers")) showLayers();
  showMotion(motion);
  showHandles(answer.starts, motion?.pieces ?? [], changed);
  showAlternatives();
};

const showFindings = () => {
  showWorst(answer, alternatives, { show: (number, index) => tell(number, index, false), questions: () => openLeaf("questions"), changed });
  results.findings(answer, alternatives, (number, index) => tell(number, index, false), changed);
};

const showAlternatives = () => {
  showFindings();
  showDay(answer, drawing.light);
  showChart(answer, alternatives, pick);
  if (refocusChart) focusChart();
  refocusChart = false;
};

/** The drawing does not have what the job names: its names can be taken out of the job. */
const offerToForget = (names) => {
  const button = el("button", { type: "button" }, names.length === 1 ? "Forget this name" : "Forget these names");
  button.addEventListener("click", () => {
    for (const { key, written } of names) forgetName(key, written);
    change();
  });
  byId("wrong-names").append(" ", button);
};

/** Marks a finding: on the drawing when it was told in a list, in the list when its pin was. */
const tell = (number, index, fromPin) => {
  drawing.tellPin(number);
  if (fromPin) openLeaf("findings");
  results.tellFinding(number, fromPin);
  const finding = answer.findings[index];
  if (!fromPin) {
    drawing.goTo(finding.at_mm, 4);
    byId("view").focus({ preventScroll: true });
  }
  say(`Finding ${number}: ${finding.message}`);
};

const tellContours = (ids) => {
  drawing.tellContour(ids);
  results.tellRows(ids);
};

/** Marks contours on the drawing. */
const markContours = (ids) => {
  tellContours(ids);
  say(`Marked: ${ids.length === 1 ? "contour" : "contours"} ${ids.join(", ")}.`);
};

/** A contour of the drawing was clicked: its menu opens there. */
const contourClicked = (id, where) => {
  tellContours([id]);
  const contour = answer.contours.find((c) => c.id === id);
  // The first answer has no list of them yet.
  if (!contour) return;
  const group = answer.asked?.find(({ contours }) => contours?.includes(id));
  openMenu(contour, where, {
    at: partUnder(where), takes: motion?.contours?.[id] ?? "", asks: group, changed,
    more: (number) => { openLeaf("layers"); byId(`use-contour-${number}`)?.focus(); },
  });
  say(`Contour ${id} on layer ${contour.layer}, taken as ${contour.purpose}.`);
};

const hover = (ids) => {
  drawing.hoverContour(ids);
  results.hoverRows(ids);
};

const pick = (candidate) => {
  refocusChart = byId("chart").contains(document.activeElement);
  take(candidate);
  change();
};

const unpick = () => {
  for (const key of ["wire_mm", "wire_kind", "machine", "passes"]) put(key, "");
  change();
};

const showPassSwitches = () => {
  const many = answer.asked.length > 1;
  const switches = answer.passes.map(({ group, pass, kind }) => {
    const name = `${group}/${pass}`;
    const box = el("input", { type: "checkbox", checked: !hiddenPasses.has(name) });
    const set = () => {
      if (box.checked) hiddenPasses.delete(name); else hiddenPasses.add(name);
      drawing.showPass(group, pass, box.checked);
    };
    box.addEventListener("change", set);
    if (!box.checked) drawing.showPass(group, pass, false);
    const lineClass = drawing.pictureOf().querySelector(`[data-group="${group}"][data-pass="${pass}"] path`)?.getAttribute("class") ?? "wire";
    // The sample is drawn as the path is.
    const sample = svg("svg", { class: "sample", viewBox: "0 0 11 4", "aria-hidden": "true" }, svg("path", { class: lineClass, d: "M0 2H11" }));
    return el("label", { class: "ink" }, box, sample, `${many ? `group ${group}, ` : ""}${pass} ${kind}`);
  });
  byId("passes-shown").replaceChildren(el("legend", { class: "unseen" }, "Passes shown"), ...switches);
};

// ---- opening ----

const open = (i) => {
  current = i;
  hiddenPasses = new Set();
  askNow();
};

const openFiles = async (files) => {
  const list = [...files];
  const jobs = list.filter((file) => /\.toml$/i.test(file.name));
  const drawn = list.filter((file) => !/\.toml$/i.test(file.name));
  for (const file of jobs) await openJob(file);
  if (drawn.length > 0) {
    const opened = await Promise.all(drawn.map(async (file) => ({ name: file.name, bytes: await file.arrayBuffer() })));
    if (!(await areDrawings(opened))) return;
    drawings = opened;
    listWanted = opened.length > 1;
    asked.demo = null;
    shownName = null;
    history.replaceState({ step: steps }, "", `#${toFragment()}`);
    open(0);
  }
};

/** Whether there is a drawing among them: a wrong file never takes a good drawing away. */
const areDrawings = async (opened) => {
  if (opened.length > 1 || !now()) return true;
  try {
    await carry("/drawing", { asked: { file: opened[0].name }, body: opened[0].bytes });
    return true;
  } catch (error) {
    if (!(error instanceof Refused)) throw error;
    showWrong({ ...error.refused, about: "drawing", sentence: `the file ${opened[0].name}: ${error.refused.sentence}; the drawing before stays` });
    say(sentence(error.refused));
    return false;
  }
};

const openJob = async (file) => {
  try {
    const { job } = await (await carry("/job", { asked: {}, body: await file.arrayBuffer() })).json();
    putJob(job);
    answersAreSaved();
    change();
    say(`The job of ${file.name} stands in the title block.`);
  } catch (error) {
    if (!(error instanceof Refused)) throw error;
    refuse({ ...error.refused, about: "job", sentence: `the job file ${file.name}: ${error.refused.sentence}` });
  }
};

/** What the program was started with, taken as if it were picked here. */
const openHanded = async () => {
  const names = await (await carry("/opened.json")).json();
  await openFiles(names.map((name, i) => ({ name, arrayBuffer: async () => (await carry(`/opened/${i}`)).arrayBuffer() })));
};

const openDemo = async (name, job) => {
  try {
    const response = await carry(`/demo/${name}.dxf`);
    drawings = [{ name: `${name}.dxf`, bytes: await response.arrayBuffer() }];
  } catch (error) {
    if (!(error instanceof Refused)) throw error;
    refuse({ about: "page", sentence: `there is no part named ${name} to try`, remedy: "" });
    return;
  }
  asked.demo = name;
  if (job) {
    asked.typed = { ...job.typed };
    asked.job = structuredClone(job.job ?? {});
    answersAreSaved();
    history.pushState({ step: ++steps }, "", `#${toFragment()}`);
  }
  shownName = null;
  showCells();
  open(0);
};

// ---- taking away ----

const refusedAsTold = (work) => async () => {
  try {
    await work();
  } catch (error) {
    if (!(error instanceof Refused)) throw error;
    refuse(error.refused);
  }
};

const download = (path, name) => refusedAsTold(async () => {
  const response = await carry(path, { asked: { file: now().name, ...wanted() }, body: now().bytes });
  save(await response.blob(), name());
  say(`${name()} is saved.`);
})();

const saveJob = refusedAsTold(async () => {
  const name = now()?.name ?? "part.dxf";
  const response = await carry("/job.toml", { asked: { file: name, ...wanted() } });
  save(await response.blob(), `${stem(name)}.toml`);
  answersAreSaved();
  say(`The job file ${stem(name)}.toml is saved. Keep it beside the drawing.`);
});

const print = refusedAsTold(async () => {
  await makePrint({ name: now().name, bytes: now().bytes, asked: wanted() });
  window.print();
});

const copyLink = async () => {
  try {
    await navigator.clipboard.writeText(location.href);
    say("The link is copied.");
  } catch {
    say("The browser does not let the link be copied: take it from the address bar.");
  }
};

// ---- starting ----

const setUnits = (inch) => {
  asked.inch = inch;
  showInch(inch);
  document.querySelector(`[name="shown-unit"][value="${inch ? "inch" : "mm"}"]`).checked = true;
  showCells(true);
  if (answer) askNow();
};

const setTheme = (theme) => {
  if (theme) document.documentElement.dataset.theme = theme;
  else delete document.documentElement.dataset.theme;
};

const fromAddress = async () => {
  closeMenu();
  fromFragment(location.hash);
  lastChange = { key: null, at: 0 };
  byId("undo").disabled = !(history.state?.step > 0);
  setUnits(asked.inch);
  if (asked.demo && now()?.name !== `${asked.demo}.dxf`) await openDemo(asked.demo, null);
  else if (now()) askNow();
};

const button = (words, action) => {
  const made = el("button", { type: "button" }, words);
  made.addEventListener("click", action);
  return made;
};

const buildStart = () => {
  byId("demos").replaceChildren(...DEMOS.map(([name, words, job]) => {
    const made = button("", () => openDemo(name, job));
    made.append(el("span", { class: "demo-picture" }), el("span", {}, words));
    made.dataset.demo = name;
    return made;
  }));
  byId("start").append(el("p", {}, button("First visit? Five steps", startTour)));
  byId("downloads").replaceChildren(...DOWNLOADS.map(([words, path, name]) => {
    const made = button(words, () => download(path, () => name(stem(now().name))));
    made.dataset.download = path;
    return made;
  }));
};

/** The clock workshop's parts, drawn small on the empty sheet. */
const drawDemos = async () => {
  for (const made of byId("demos").querySelectorAll("[data-demo]")) {
    if (now()) return;
    const name = `${made.dataset.demo}.dxf`;
    const bytes = await (await carry(`/demo/${name}`)).arrayBuffer();
    const read = await (await carry("/drawing", { asked: { file: name }, body: bytes })).json();
    made.querySelector(".demo-picture").classList.add("ink");
    putNamelessPicture(made.querySelector(".demo-picture"), read.pictures.overlay);
  }
};

/** What the address holds belongs to them, and is read first. */
const openOnceStarted = async (files) => {
  const list = [...files];
  await started;
  await openFiles(list);
};

const listenFiles = () => {
  byId("open").addEventListener("change", (event) => { openOnceStarted(event.target.files); event.target.value = ""; });
  const dropping = (yes) => { byId("drop-here").hidden = !yes; };
  document.addEventListener("dragover", (event) => { event.preventDefault(); dropping(true); });
  document.addEventListener("dragleave", (event) => { if (!event.relatedTarget) dropping(false); });
  document.addEventListener("drop", (event) => {
    event.preventDefault();
    dropping(false);
    openOnceStarted(event.dataTransfer.files);
  });
};

const listenButtons = () => {
  byId("save-job").addEventListener("click", saveJob);
  byId("copy-link").addEventListener("click", copyLink);
  byId("forget").addEventListener("click", () => { asked.job = {}; asked.typed = {}; change(); });
  byId("undo").addEventListener("click", () => history.back());
  byId("print").addEventListener("click", print);
  byId("unpick").addEventListener("click", unpick);
  byId("all-candidates").addEventListener("change", () => { if (alternatives) showChart(answer, alternatives, pick); });
  byId("several-csv").addEventListener("click", refusedAsTold(() => saveList(drawings, wanted())));
  byId("asked").addEventListener("submit", (event) => event.preventDefault());
  for (const radio of document.querySelectorAll("[name='shown-unit']")) {
    radio.addEventListener("change", () => { setUnits(radio.value === "inch"); history.replaceState({ step: steps }, "", `#${toFragment()}`); });
  }
  byId("theme").addEventListener("change", (event) => setTheme(event.target.value));
  window.addEventListener("popstate", fromAddress);
  window.addEventListener("beforeunload", (event) => { if (hasUnsavedAnswers()) event.preventDefault(); });
};

const start = async () => {
  const choices = await (await carry("/choices.json")).json();
  buildCells(choices, change);
  byId("cautions-body").replaceChildren(el("ul", {}, choices.cautions.map((words) => el("li", {}, words))));
  byId("cautions-short").textContent = choices.cautions_short;
  buildHelp(choices);
  buildStart();
  listenLeaves((id) => { if (id === "layers") showLayers(); });
  listenAsking(() => (now() ? { name: now().name, bytes: now().bytes, asked: wanted(), isNew: shownName !== now().name } : null), listens);
  drawing.listen(contourClicked, (id) => hover(id === undefined ? [] : [id]));
  results.listenRows(hover);
  listenMagnifier();
  listenMeasure();
  listenPlayer();
  listenHandles();
  listenMenu();
  listenPair(() => ({ answer, fragment: toFragment() }), (fragment) => { fromFragment(fragment); change(); });
  listenFiles();
  listenButtons();
  buildReadings(async (book) => { openLeaf("shop"); await layOver(book); });
  steps = history.state?.step ?? 0;
  // Another book has other materials, wires and machines; one that is remembered counts from the first plan on.
  const otherBook = async () => {
    buildCells(await (await carry("/choices", { asked: {} })).json(), change);
    showCells(true);
    askNow();
  };
  await buildShop(otherBook, (fragment) => { fromFragment(fragment); change(); });
  await fromAddress();
  // What an address holds is kept there.
  answersAreSaved();
  if (!now()) await refusedAsTold(openHanded)();
  if (!now()) drawDemos().catch((error) => { if (!(error instanceof Refused)) throw error; });
};

const started = start();
