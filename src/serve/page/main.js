// The page as a whole: what is open, what is asked, and one answer at a time.

import { asked, forgetName, fromFragment, put, toFragment } from "./asked.js";
import { Refused, post, save, stem } from "./ask.js";
import { buildForm, sentence, showForm, showWrong } from "./form.js";
import * as drawing from "./drawing.js";
import { listenMagnifier, magnify } from "./magnifier.js";
import * as results from "./results.js";
import { focusChart, showChart, showDay } from "./pick.js";
import { saveList, showList, stopList } from "./list.js";
import { showQuestions } from "./questions.js";
import { byId, el, putNamelessPicture, say, showInch, svg } from "./words.js";

const DEMOS = [
  ["hand-die", "die for a hand", { material: "tool-steel", thickness_mm: 30, layer: { PLATE: { use: "existing" }, SCREWS: { use: "existing" }, START: { use: "start-hole" } } }],
  ["hand-punch", "punch for a hand", { material: "tool-steel", thickness_mm: 40 }],
  ["ratchet", "ratchet", { material: "tool-steel", thickness_mm: 8 }],
  ["escape-wheel", "escape wheel", { material: "brass-c26000", thickness_mm: 4 }],
  ["decorative-hand", "decorative hand", { material: "brass-c26000", thickness_mm: 2 }],
];
const DOWNLOADS = [
  ["Job sheet", "/job-sheet.html", (name) => `${name}.html`],
  ["Drawing sheet", "/sheet.svg", (name) => `${name}.svg`],
  ["Paths, DXF", "/paths.dxf", (name) => `${name}-paths.dxf`],
  ["Row, CSV", "/row.csv", (name) => `${name}.csv`],
  ["Wires and passes, CSV", "/compare.csv", (name) => `${name}-compare.csv`],
  ["All data, JSON", "/plan.json", (name) => `${name}.json`],
];
const SETTLE_MS = 40;
const PATIENCE_MS = 500;
const LARGE_BYTES = 400_000;

let drawings = [];
let current = -1;
let shownName = null;
let hiddenPasses = new Set();
let timer = 0;
let running = null;
let refocusChart = false;
/** The last answer. */
let answer = null;

const now = () => drawings[current];

// ---- asking ----

const change = () => {
  history.replaceState(null, "", `#${toFragment()}`);
  clearTimeout(timer);
  timer = setTimeout(askNow, SETTLE_MS);
};

const askNow = async () => {
  running?.abort();
  stopList();
  if (!now()) return;
  running = new AbortController();
  const mine = running;
  const patience = setTimeout(() => waitAloud(mine, performance.now()), PATIENCE_MS);
  byId("main").setAttribute("aria-busy", "true");
  const get = async (path) => (await post(path, { file: now().name, job: asked.job, several: drawings.length > 1 }, now().bytes, mine.signal)).json();
  try {
    if (shownName !== now().name && now().bytes.byteLength > LARGE_BYTES) {
      // Of a large drawing units and findings are shown while its plan is worked out.
      const read = await get("/drawing");
      if (mine !== running) return;
      answer = read;
      showAnswer();
    }
    const got = await get("/answer");
    if (mine !== running) return;
    answer = got;
    showAnswer();
    showList(drawings, current, asked.job, open);
  } catch (error) {
    if (error.name === "AbortError") return;
    if (mine !== running) return;
    if (!(error instanceof Refused)) throw error;
    refuse(error.refused);
  } finally {
    clearTimeout(patience);
    if (mine === running) rest();
  }
};

const waitAloud = (mine, since) => {
  if (mine !== running || mine.signal.aborted) return;
  byId("waiting").hidden = false;
  byId("main").classList.add("stale");
  const seconds = Math.round((performance.now() - since + PATIENCE_MS) / 1000);
  byId("waiting-words").textContent = `Working on ${now().name} for ${seconds} s. What is shown is not yet the new plan.`;
  setTimeout(() => { if (!byId("waiting").hidden) waitAloud(mine, since); }, 1000);
};

const rest = () => {
  byId("waiting").hidden = true;
  byId("main").removeAttribute("aria-busy");
  byId("main").classList.remove("stale");
};

/** Nobody waits any more: the server stops at its next step. */
const stopWaiting = () => {
  running?.abort();
  rest();
  say("Stopped. What is shown is the plan before.");
  showWrong({ about: "page", sentence: "what is shown is not the new plan: the wait was stopped", remedy: "change something to plan again" });
};

/** Nothing could be read: what was shown before is gone too, since it would not be true. */
const refuse = (refused) => {
  const about = byId(`wrong-${refused.about}`) ? refused : { ...refused, about: "page" };
  showWrong(about);
  if (refused.about === "drawing") {
    answer = null;
    shownName = null;
    byId("view").hidden = true;
    byId("view-tools").hidden = true;
    byId("start").hidden = false;
    byId("headline").replaceChildren();
    for (const section of document.querySelectorAll("[data-needs]")) section.hidden = true;
  }
  say(sentence(refused));
};

// ---- showing ----

const showAnswer = () => {
  const planned = Boolean(answer.planned);
  const same = shownName === now().name;
  shownName = now().name;
  byId("start").hidden = true;
  byId("view").hidden = false;
  byId("view-tools").hidden = false;
  byId("part-name").textContent = now().name;
  document.title = `${now().name} – kerfwright`;
  for (const section of document.querySelectorAll("[data-needs]")) section.hidden = section.dataset.needs === "plan" && !planned;
  const wanting = answer.not_planned;
  // Nothing typed yet is no mistake: it is asked for, not complained of.
  const missing = wanting && asked.job[wanting.about] === undefined && ["material", "thickness_mm"].includes(wanting.about);
  showWrong(missing ? null : wanting);
  if (wanting?.names?.length > 0) offerToForget(wanting.names);
  drawing.showPicture(answer.pictures.overlay, same);
  drawing.showPins(answer.findings, answer.finding_groups, answer.unreached ?? [], (number, index) => tell(number, index, true));
  results.headline(answer);
  if (missing) byId("headline").append(el("p", {}, `Give the ${wanting.about === "material" ? "material" : "thickness"} to have it planned.`));
  showQuestions(answer, change, markContours);
  results.findings(answer, (number, index) => tell(number, index, false));
  results.layers(answer, change, tellContours);
  if (planned) {
    showPassSwitches();
    magnify(answer.passes);
    results.passes(answer);
    putNamelessPicture(byId("wall-section"), answer.pictures.wall_section);
    results.times(answer);
    showDay(answer, drawing.light);
    showChart(answer, pick);
    results.cost(answer);
    results.accuracy(answer);
    if (refocusChart) focusChart();
  } else {
    byId("passes-shown").replaceChildren();
    magnify([]);
  }
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

/** Marks a finding: on the drawing when it was told in the list, in the list when its pin was. */
const tell = (number, index, fromPin) => {
  drawing.tellPin(number);
  results.tellFinding(number, fromPin);
  const finding = answer.findings[index];
  if (!fromPin) {
    drawing.goTo(finding.at_mm, 4);
    byId("view").scrollIntoView({ block: "nearest" });
    byId("view").focus({ preventScroll: true });
  }
  say(`Finding ${number}: ${finding.message}`);
};

const tellContours = (ids) => {
  drawing.tellContour(ids);
  results.tellRows(ids);
};

/** Marks contours and shows the drawing. */
const markContours = (ids) => {
  tellContours(ids);
  byId("view").scrollIntoView({ block: "nearest" });
  say(`Marked: ${ids.length === 1 ? "contour" : "contours"} ${ids.join(", ")}.`);
};

/** A contour of the drawing was clicked: the choice of what it is for is where the focus goes. */
const contourClicked = (id) => {
  tellContours([id]);
  const contour = answer.contours.find((c) => c.id === id);
  const own = byId(`use-contour-${id}`);
  const choice = byId(`use-layer-${contour.layer}`) ?? own;
  byId("layers").scrollIntoView({ block: "center" });
  choice?.focus({ preventScroll: true });
  say(`Contour ${id} on layer ${contour.layer}, taken as ${contour.purpose}. Say what its layer is for.`);
};

const pick = (candidate) => {
  refocusChart = byId("chart").contains(document.activeElement);
  put("wire_mm", candidate.wire_mm);
  put("wire_kind", candidate.wire_kind);
  put("machine", candidate.machine);
  const alike = new Set(candidate.passes_by_group).size <= 1;
  put("passes", alike ? candidate.passes : undefined);
  showForm();
  change();
};

const unpick = () => {
  for (const key of ["wire_mm", "wire_kind", "machine", "passes"]) put(key, undefined);
  showForm();
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
    drawings = await Promise.all(drawn.map(async (file) => ({ name: file.name, bytes: await file.arrayBuffer() })));
    asked.demo = null;
    shownName = null;
    history.replaceState(null, "", `#${toFragment()}`);
    open(0);
  } else if (now()) {
    askNow();
  }
};

const openJob = async (file) => {
  try {
    const { job } = await (await post("/job", {}, await file.arrayBuffer())).json();
    asked.job = Object.fromEntries(Object.entries(job).filter(([key, value]) => value !== null && key !== "drawing"));
    showForm();
    change();
    say(`The job of ${file.name} stands in the form.`);
  } catch (error) {
    if (!(error instanceof Refused)) throw error;
    refuse({ ...error.refused, about: byId(`wrong-${error.refused.about}`) ? error.refused.about : "job" });
  }
};

const openDemo = async (name, job) => {
  const response = await fetch(`/demo/${name}.dxf`);
  if (!response.ok) { refuse({ about: "page", sentence: `there is no part named ${name} to try`, remedy: "" }); return; }
  drawings = [{ name: `${name}.dxf`, bytes: await response.arrayBuffer() }];
  asked.demo = name;
  if (job) asked.job = structuredClone(job);
  shownName = null;
  showForm();
  history.replaceState(null, "", `#${toFragment()}`);
  open(0);
};

// ---- taking away ----

const download = async (path, name) => {
  try {
    const response = await post(path, { file: now().name, job: asked.job, several: drawings.length > 1 }, now().bytes);
    save(await response.blob(), name);
    say(`${name} is saved.`);
  } catch (error) {
    if (!(error instanceof Refused)) throw error;
    refuse(error.refused);
  }
};

const saveJob = async () => {
  const name = now()?.name ?? "part.dxf";
  try {
    const response = await post("/job.toml", { file: name, job: asked.job });
    save(await response.blob(), `${stem(name)}.toml`);
    say(`The job file ${stem(name)}.toml is saved. Keep it beside the drawing.`);
  } catch (error) {
    if (!(error instanceof Refused)) throw error;
    refuse(error.refused);
  }
};

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
  showForm();
  if (answer) askNow();
};

const setTheme = (theme) => {
  if (theme) document.documentElement.dataset.theme = theme;
  else delete document.documentElement.dataset.theme;
};

const fromAddress = async () => {
  fromFragment(location.hash);
  setUnits(asked.inch);
  if (asked.demo && now()?.name !== `${asked.demo}.dxf`) await openDemo(asked.demo, null);
  else if (now()) askNow();
};

const start = async () => {
  const choices = await (await fetch("/choices.json")).json();
  buildForm(choices, change);
  byId("cautions-body").replaceChildren(el("ul", {}, choices.cautions.map((words) => el("li", {}, words))));
  byId("demos").replaceChildren(...DEMOS.map(([name, words, job]) => {
    const button = el("button", { type: "button" }, words);
    button.addEventListener("click", () => openDemo(name, job));
    return button;
  }));
  byId("downloads").replaceChildren(...DOWNLOADS.map(([words, path, name]) => {
    const button = el("button", { type: "button" }, words);
    button.dataset.download = path;
    button.addEventListener("click", () => download(path, name(stem(now().name))));
    return button;
  }));
  drawing.listen(contourClicked);
  listenMagnifier();
  byId("open").addEventListener("change", (event) => { openFiles(event.target.files); event.target.value = ""; });
  byId("save-job").addEventListener("click", saveJob);
  byId("copy-link").addEventListener("click", copyLink);
  byId("forget").addEventListener("click", () => { asked.job = {}; showForm(); change(); });
  byId("unpick").addEventListener("click", unpick);
  byId("stop-waiting").addEventListener("click", stopWaiting);
  byId("several-csv").addEventListener("click", () => saveList(drawings, asked.job).catch((error) => refuse(error.refused ?? { about: "page", sentence: String(error), remedy: "" })));
  byId("asked").addEventListener("submit", (event) => event.preventDefault());
  for (const radio of document.querySelectorAll("[name='shown-unit']")) {
    radio.addEventListener("change", () => { setUnits(radio.value === "inch"); history.replaceState(null, "", `#${toFragment()}`); });
  }
  byId("theme").addEventListener("change", (event) => setTheme(event.target.value));
  const dropping = (yes) => { byId("drop-here").hidden = !yes; };
  document.addEventListener("dragover", (event) => { event.preventDefault(); dropping(true); });
  document.addEventListener("dragleave", (event) => { if (!event.relatedTarget) dropping(false); });
  document.addEventListener("drop", (event) => {
    event.preventDefault();
    dropping(false);
    openFiles(event.dataTransfer.files);
  });
  window.addEventListener("hashchange", fromAddress);
  await fromAddress();
};

start();
