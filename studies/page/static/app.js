// The page: one study open at a time, its rooms, and what happens after each change.

import { get, post, start } from "./api.js";
import { AnswerRoom } from "./answer.js";
import { at, byId, copied, el, same } from "./dom.js";
import { Drawing } from "./drawing.js";
import { Form } from "./form.js";
import { drawGuide } from "./guide.js";
import { drawStrip as drawLayouts } from "./strip.js";
import { Works } from "./works.js";

const WAIT_MS = 150;
const ANSWER_MS = 250;
const REFUSED = 422;
const ROOMS = {
  block: ["Block", ["title", "rated_load", "demand", "tube", "bottom_plate", "top_plate", "pin", "hole", "welds", "steel", "units"]],
  layouts: ["Layouts", ["layouts"]],
  loads: ["Loads", ["loads", "clamp"]],
  shop: ["Shop", ["press", "weld_check", "shop", "axle", "ubolt", "shelf"]],
  run: ["Run", ["mesh", "accuracy", "seats", "sweep"]],
  answer: ["Answer", []],
  guide: ["Guide", []],
};

const state = { name: "", data: {}, saved: {}, mark: "", problems: [], layout: 0, plans: [], masses: [], answer: null,
  typed_at: 0, shown_ms: [], asked_again: "" };  // from a change to its picture
let said, form, drawing, works, answerRoom, checks = 0, timer = 0, later = 0;
window.gussetry = { state };  // to look at from the browser's console; nothing here reads it

async function open() {
  said = await start();
  form = new Form(said.form, said.patterns, said.sentences, changed, drawSheet);
  const known = new Set(Object.values(ROOMS).flatMap(([, keys]) => keys));
  ROOMS.shop[1].push(...said.form.map((one) => one.key).filter((key) => !known.has(key)));
  drawing = new Drawing();
  works = new Works(order, ended, jump, back);
  answerRoom = new AnswerRoom(() => state, order);
  byId("folder").textContent = said.folder;
  byId("cautions").replaceChildren(...said.cautions.map((one) => el("li", {}, one)));
  drawGuide(said);
  listen();
  const names = await drawNames();
  const been = localStorage.getItem(`gussetry open ${said.folder}`);
  await openStudy(been || names[0]).catch(() => openStudy(names[0]));
  if (!been) {
    // Before the picture comes: what is drawn already should not move under a hand.
    const open = state.mark ? "" : "A worked example is open. ";
    notice(`New here? ${open}Turn the block, look at the answer, then make it yours.`, "Show the guide",
      () => { location.hash = "guide"; });
  }
  works.look();
}

async function drawNames() {
  const { names, examples } = await get("/api/studies");
  const option = (name, words) => el("option", { value: name }, words);
  byId("study").replaceChildren(...names.map((name) => option(name, name)),
    ...examples.map((name) => option(name, `Example: ${name.replace(/_/g, " ").replace(".toml", "")}`)));
  return [...names, ...examples];
}

async function openStudy(name) {
  const opened = await get("/api/study", { name });
  const draft = JSON.parse(localStorage.getItem(draftKey(name)) || "null");
  Object.assign(state, { name, saved: opened.data, mark: opened.mark, layout: 0, answer: null });
  state.data = copied(opened.data);
  notice("");
  if (draft && !same(draft.data, opened.data)) {
    const old = copied(draft.data);
    if (draft.mark === opened.mark) state.data = old;
    else {
      notice(`${name} was changed since you last wrote here without saving.`, "Take back what I wrote", () => {
        state.data = old;
        drawSheet();
        changed();
      });
    }
  }
  localStorage.setItem(`gussetry open ${said.folder}`, name);
  byId("study").value = name;
  form.kept.clear();
  drawSheet();
  showSaved();
  check(true);
}

const draftKey = (name) => `gussetry draft ${said.folder} ${name}`;

function changed() {
  state.typed_at = performance.now();
  localStorage.setItem(draftKey(state.name), JSON.stringify({ data: state.data, mark: state.mark }));
  showSaved();
  form.renamed();
  busy(true);
  clearTimeout(timer);
  timer = setTimeout(() => check(), WAIT_MS);
}

// Say whether picture and problems are still to follow what was typed.
const busy = (now) => byId("view").setAttribute("aria-busy", now);

// Ask the server what it makes of the values, and a little later for what is computed of them;
// with ``opening`` at once, that figures stand before the picture is made.
async function check(opening = false) {
  clearTimeout(timer);
  clearTimeout(later);
  const mine = ++checks;
  const typed_at = state.typed_at;
  busy(true);
  try {
    const { name, data } = state;
    const figures = opening ? lookUp(mine) : null;
    const found = await post("/api/check", { name, data, layout: room() === "layouts" ? null : state.layout });
    if (mine !== checks) return;
    state.problems = found.problems.map((one) => ({ ...one, where: whereOf(one.location) }));
    tellProblems(found.guess);
    byId("view").classList.toggle("old", !found.drawn);
    byId("preview-note").textContent = found.drawn ? "" : "The picture stays as it was until the values make a block again.";
    if (found.problems.length) forgetAnswer();
    else if (!opening) later = setTimeout(() => lookUp(mine), ANSWER_MS);
    if (found.drawn) {
      state.plans = found.drawn.plans;
      await figures;
      drawStrip();
      if (opening) await new Promise(requestAnimationFrame);
      await drawing.show(found.drawn);
      if (typed_at && mine === checks) state.shown_ms.push(performance.now() - typed_at);
      if (typed_at === state.typed_at) state.typed_at = 0;
    }
  } catch (error) {
    if (mine === checks) works.say(error.message);
  }
  if (mine === checks) busy(false);
}

async function lookUp(mine) {
  try {
    const { name, data } = state;
    const { answer, masses } = await post("/api/answer", { name, data });
    if (mine !== checks) return;
    Object.assign(state, { answer, masses });
    answerRoom.tell(answer);
    drawStrip();
  } catch (error) {
    if (error.status !== REFUSED) works.say(error.message);  // else told beside the values
  }
}

function forgetAnswer() {
  Object.assign(state, { answer: null, masses: [] });
  answerRoom.tell(null);
  drawStrip();
}

function tellProblems(guess) {
  const rest = form.tell(state.problems);
  const counts = {};
  for (const one of state.problems) counts[roomOf(one.location)] = (counts[roomOf(one.location)] || 0) + 1;
  for (const link of byId("rooms").querySelectorAll("a")) {
    const count = counts[link.dataset.room];
    link.querySelector(".badge")?.remove();
    if (count) link.append(el("span", { class: "badge", title: "values to mend" }, `${count} to mend`));
  }
  const loose = rest.filter((one) => !one.location.length);
  if (loose.length) notice(`${loose[0].problem}; ${loose[0].remedy}`);
  works.tell(state.problems, guess);
}

// The server answers again: ask it anew, but not a third time of values that it ended on.
function back() {
  const values = JSON.stringify(state.data);
  if (values === state.asked_again) {
    byId("preview-note").textContent = "The server ended twice on these values. Nothing is lost: change what you did last.";
    return;
  }
  state.asked_again = values;
  check();
}

const roomOf = ([key]) => Object.keys(ROOMS).find((one) => ROOMS[one][1].includes(key)) || "block";

function whereOf(location) {
  const words = [];
  let fields = said.form, value = state.data;
  for (const step of location) {
    value = value?.[step];
    if (typeof step === "number") {
      words.push(value?.name || `no. ${step + 1}`);
      continue;
    }
    const field = (fields || []).find((one) => one.key === step);
    words.push(field?.label || step);
    fields = field?.fields?.length ? field.fields : Object.values(field?.variants || {}).flat();
  }
  return words.join(", ") || "The study";
}

function jump(problem) {
  for (let length = problem.location.length; length > 1; length -= 1) {
    const entry = at(state.data, problem.location.slice(0, length));
    if (typeof problem.location[length - 1] === "number" && entry) form.open(entry);
  }
  location.hash = roomOf(problem.location);
  drawRoom();
  check();
  for (let length = problem.location.length; length; length -= 1) {
    const place = form.places.get(problem.location.slice(0, length).join("."));
    if (!place) continue;
    const box = place.id && byId(place.id);
    (box || place.told).scrollIntoView({ block: "center" });
    box?.focus();
    return;
  }
}

const room = () => (ROOMS[location.hash.slice(1)] ? location.hash.slice(1) : "block");

function drawRoom() {
  const now = room();
  byId("rooms").replaceChildren(...Object.entries(ROOMS).map(([key, [words]]) => el("li", {},
    el("a", { href: `./#${key}`, "data-room": key, "aria-current": key === now ? "page" : false }, words))));
  const bench = !["answer", "guide"].includes(now);
  document.querySelector(".bench").hidden = !bench;
  byId("answer").hidden = now !== "answer";
  byId("guide").hidden = now !== "guide";
  document.body.dataset.room = now;
  drawSheet();
  if (now === "answer") answerRoom.draw();
}

// Draw the sheet of the room; ``focus`` finds what should be in hand afterwards.
function drawSheet(focus) {
  const [words, keys] = ROOMS[room()];
  form.data = state.data;
  form.clear();
  byId("sheet").replaceChildren(el("h1", {}, words), ...form.parts(keys));
  form.tell(state.problems);
  drawStrip();
  if (typeof focus === "string") byId("sheet").querySelector(focus)?.focus();
}

const drawStrip = () => drawLayouts(state, said.cautions[0], (index) => {
  state.layout = index;
  const chosen = state.data.layouts[index];
  if (room() === "layouts" && chosen) form.open(chosen);
  drawStrip();
  check();
});

function showSaved() {
  const clean = same(state.data, state.saved);
  byId("saved").textContent = !state.mark ? "example, not in your folder yet" : clean ? "saved" : "changes not saved";
  byId("revert").disabled = clean;
}

async function save(name = state.name, mark = state.mark) {
  const data = copied(state.data);
  const said_ = await post("/api/study", { name, data, mark });
  localStorage.removeItem(draftKey(state.name));
  localStorage.removeItem(draftKey(name));
  Object.assign(state, { name, saved: data, mark: said_.mark });
  localStorage.setItem(`gussetry open ${said.folder}`, name);
  await drawNames();
  byId("study").value = name;
  showSaved();
}

// Save what is on the page, then put a run of it into the queue.
async function order(kind, more = {}) {
  try {
    if (state.problems.length) throw new Error("mend the values marked first");
    if (!state.mark || !same(state.data, state.saved)) await save();
    await post("/api/runs", { name: state.name, kind, ...more });
    works.say("");
    await works.look();
  } catch (error) {
    works.say(error.message);
  }
}

function ended(run) {
  if (run.study !== state.name) return;
  if (!state.problems.length) lookUp(checks);
  if (room() === "answer") answerRoom.draw();
}

function notice(text, button, act) {
  byId("notice").replaceChildren(...(text ? [el("p", { class: "note" }, text, button
    ? el("button", { type: "button", onclick: () => { notice(""); act(); } }, button) : null)] : []));
}

function tomlName(text) {
  const name = text.trim();
  return name.toLowerCase().endsWith(".toml") ? name : `${name}.toml`;
}

async function guarded(act) {
  byId("name-problem").textContent = "";
  try {
    await act();
  } catch (error) {
    byId("name-problem").textContent = error.message;
    byId("more-files").open = true;
  }
}

function listen() {
  window.addEventListener("hashchange", () => {
    if (room() === document.body.dataset.room) return;  // gone to already: see jump
    drawRoom();
    check();
    byId("work").focus({ preventScroll: true });
    window.scrollTo(0, 0);
  });
  byId("study").addEventListener("change", () => guarded(() => openStudy(byId("study").value)));
  byId("save").addEventListener("click", () => guarded(() => save()));
  byId("save-as").addEventListener("submit", (event) => {
    event.preventDefault();
    guarded(() => save(tomlName(byId("new-name").value), "").then(() => { byId("more-files").open = false; }));
  });
  byId("revert").addEventListener("click", () => {
    localStorage.removeItem(draftKey(state.name));
    guarded(() => openStudy(state.name));
  });
  byId("download").addEventListener("click", () => guarded(async () => {
    const { text } = await post("/api/text", { name: state.name, data: state.data });
    const link = el("a", { href: URL.createObjectURL(new Blob([text])), download: state.name });
    link.click();
    URL.revokeObjectURL(link.href);
  }));
  byId("upload").addEventListener("change", () => guarded(async () => {
    const [file] = byId("upload").files;
    if (!file) return;
    if (file.size > 1e6) throw new Error("this file is larger than a megabyte; choose a study file");
    const { data } = await post("/api/read", { text: await file.text() });
    const name = tomlName(file.name);
    await post("/api/study", { name, data, mark: "" });
    await drawNames();
    await openStudy(name);
  }));
  drawRoom();
}

open().catch((error) => {
  byId("work").prepend(el("p", { class: "problem", role: "alert" }, `The page cannot be opened: ${error.message}`));
});
