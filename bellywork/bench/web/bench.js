// The bench's page: a reading is typed, sent, and kept here until the server has it on its disk.

import { drawBoard } from "./look.js";
import { showReach } from "./reach.js";
import { humidity, humidityField, showTyped } from "./typed.js";

const id = (name) => document.getElementById(name);
const made = (kind, words = "", more = {}) => Object.assign(document.createElement(kind), { textContent: words, ...more });
const KEYS = ["7", "8", "9", "⌫", "4", "5", "6", "−", "1", "2", "3", "/", "0", ".", "space", "clear"];
const TOLD = ["net_deg", "target_net_deg", "you_get_deg", "faired_front_mm", "faired_rear_mm", "block_mm", "kerf_mm", "cap_left_mm", "short"];
const WAITING = "bellywork-bench-waiting";
let state = null, seen = "", note = 0, column = "", typed = "", fresh = true, board = null, clash = null;
let waiting = JSON.parse(localStorage.getItem(WAITING) || "[]"), last = null;

const at = () => state.notes[note], head = () => state.columns.find((each) => each.head === column);

// ── what is shown
function shown() {
  if (!state) return;
  id("title").textContent = state.title || "The bench";
  document.title = state.title || "The bench";
  if (!head()) column = state.columns.length ? state.columns[0].head : "";
  note = Math.min(note, state.notes.length - 1);
  const here = at();
  id("note").textContent = `${here.name}`;
  id("note").setAttribute("aria-label", `note ${here.note}, ${here.name}, ${here.section}`);
  id("columns").replaceChildren(...state.columns.map((each) => {
    const button = made("button", each.label, { type: "button", onclick: () => choose(note, each.head) });
    button.setAttribute("role", "radio"); button.setAttribute("aria-checked", String(each.head === column));
    button.append(made("b", held(here, each.head) || "–"));
    return button;
  }));
  id("typed").textContent = fresh ? held(here, column) : typed;
  id("unit").textContent = head() ? head().unit : "";
  id("meaning").textContent = head() ? head().meaning : "";
  tellHere(here);
  tellBoard();
  tellRows();
  if (!STAGES.includes(document.body.dataset.stage)) tellNext(state.next);
  id("measured").textContent = state.measured;
  showTyped(id("typedlist"), state.typed, (of) => sendRow("back", { of }));
  link();
}

// what to read next, with its reason: a tap goes there; beyond the first, on being asked for
const FIRST = 5;
let everyNext = false;
function tellNext(list) {
  const many = list?.length || 0;
  id("next").hidden = !many;
  id("next").className = everyNext ? "every" : "";
  id("everynext").hidden = many <= FIRST;
  id("everynext").textContent = everyNext ? `first ${FIRST}` : `all ${many}`;
  id("everynext").setAttribute("aria-expanded", String(everyNext));
  id("everynext").onclick = () => { everyNext = !everyNext; tellNext(list); };
  id("next").querySelector("ul").replaceChildren(...(list || []).slice(0, everyNext ? many : FIRST).map(({ note: number, name, why, column: head }) => {
    const item = made("li"), box = made("button", "", { type: "button", onclick: () => number ? goTo(number, head) : document.querySelector(`[aria-label="dial at ${name}"]`)?.focus() });
    box.append(made("b", name), why);
    item.append(box);
    return item;
  }));
}

let laterAt = null; // the note that is to be read at a later stage, and the state that it is then in
function goTo(number, head) {
  const from = document.body.dataset.stage, place = state.notes.findIndex((each) => each.note === number);
  if (from === "again") { id("laternote").value = number; id("latervalue").focus(); return; }
  if (from === "plate") stage("measure");
  if (LATER[from]) { laterAt = [number, LATER[from]]; stage("again"); }
  if (place >= 0) choose(place, head || column);
}

const held = (entry, name) => (waiting.findLast((each) => each.note === entry.note && each.column === name) || { text: entry.cells[name] }).text;

function tellHere(here) {
  id("heretitle").textContent = `${here.name}, ${here.section}${here.remark ? `: ${here.remark}` : ""}`;
  showReach(id("reach"), here.reach, here.told.you_get_deg);
  id("told").replaceChildren(...TOLD.filter((name) => state.legend[name]).map((name) => {
    const [label, unit, meaning] = state.legend[name], box = made("div", "", { title: meaning }), text = here.told[name] || "–";
    if (name === "short" && text === "–") return box;
    box.append(made("dt", label), made("dd", text === "–" ? text : `${text} ${unit}`));
    box.className = name === "short" ? "alarm" : "";
    return box;
  }).filter((box) => box.childNodes.length));
}

function tellBoard() {
  const working = state.busy && !state.exact ? ["Still settling: the last digit may move."] : state.busy ? ["Working it out …"] : [];
  id("headline").replaceChildren(...[...working, ...state.headline].map((line) => made("li", line)));
  id("findings").replaceChildren(...state.findings.map((line) => made("li", line)));
  id("doubts").hidden = !state.findings.length;
  id("doubts").open = state.stopped || id("doubts").open;
  id("doubts").firstElementChild.textContent = `${state.findings.length} to look at`;
}

function tellRows() {
  const names = TOLD.filter((name) => state.legend[name]);
  const heads = made("tr");
  heads.append(made("th", "note"), ...names.map((name) => made("th", `${state.legend[name][0]}${state.legend[name][1] ? `, ${state.legend[name][1]}` : ""}`)));
  id("heads").replaceChildren(heads);
  id("rows").replaceChildren(...state.notes.map((entry, k) => {
    const row = made("tr", "", { className: k === note ? "here" : "", onclick: () => choose(k, column) });
    row.append(made("td", entry.name), ...names.map((name) => made("td", entry.told[name] || "")));
    return row;
  }));
}

function link(words) {
  const count = waiting.length, many = count === 1 ? "1 reading waits" : `${count} readings wait`;
  id("link").textContent = words || (count ? `Not yet on the disk: ${many} on this device and go over by themselves.` : "");
}

// ── choosing and typing
function choose(place, name) {
  note = Math.max(0, Math.min(place, state.notes.length - 1));
  column = name; typed = ""; fresh = true;
  if (board && board.note !== note) board.pick(note);
  shown();
}

function press(key) {
  if (!head()) return;
  if (fresh) { typed = ""; fresh = false; }
  if (key === "⌫") typed = typed.slice(0, -1);
  else if (key === "clear") { typed = ""; }
  else typed = (typed + (key === "space" ? " " : key)).slice(0, 20);
  id("typed").textContent = typed;
}

function keep() {
  if (fresh || !head()) return choose(next(), column);
  send(at(), typed.trim());
  choose(next(), column);
}

// the next reference note that lacks this reading, else the next in the row
function next() {
  const order = [...state.notes.keys()].slice(note + 1), lacking = order.find((k) => !held(state.notes[k], column));
  return lacking ?? Math.min(note + 1, state.notes.length - 1);
}

const newKey = () => crypto.randomUUID ? crypto.randomUUID() : `${Date.now()}-${Math.random()}`;

function send(entry, text, force = false) {
  const reading = { key: newKey(), note: entry.note, column, text, before: held(entry, column), remark: id("remark").value.trim(), rh: humidity(), force };
  if (!force) last = { note: entry.note, column, before: held(entry, column) };
  id("remark").value = "";
  waiting.push(reading);
  stored();
  deliver();
}

const stored = () => { localStorage.setItem(WAITING, JSON.stringify(waiting)); link(); };

let busy = false;
async function deliver() {
  if (busy || !waiting.length || clash) return;
  busy = true;
  const reading = waiting[0];
  try {
    const answer = await fetch(reading.path || "reading", { method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify(reading) });
    if (answer.status === 409 && !reading.path) {
      clash = { reading, now: (await answer.json()).now };
      const entry = state.notes.find((each) => each.note === reading.note);
      id("clashed").textContent = `${entry.name}: somebody else wrote ${clash.now || "nothing"}; you typed ${reading.text || "nothing"}.`;
      id("clash").hidden = false;
      id("theirs").focus();
    } else if (answer.ok && reading.path) {
      waiting.shift();
    } else if (answer.ok) {
      const { doubt } = await answer.json(), entry = state.notes.find((each) => each.note === reading.note);
      entry.cells[reading.column] = reading.text;
      id("doubt").textContent = doubt ? `${entry.name}: ${doubt}` : "";
      waiting.shift();
    } else if (answer.status === 422 || answer.status === 413) {
      id(reading.path ? "rowdoubt" : "doubt").textContent = await answer.text();
      waiting.shift();
    } else {
      link(await answer.text());
    }
  } catch { /* no connection: it stays here and is tried again */ }
  busy = false;
  stored();
  shown();
  if (waiting.length && !clash) setTimeout(deliver, 700);
}

function settle(write) {
  const { reading, now } = clash;
  waiting.shift();
  clash = null;
  id("clash").hidden = true;
  if (write) waiting.unshift({ ...reading, before: now, force: true, key: `${reading.key}-again` });
  stored();
  deliver();
}

// ── what others do
async function follow() {
  for (;;) {
    try {
      const answer = await fetch(`state?seen=${seen}`);
      if (answer.status === 403) { id("link").textContent = await answer.text(); return; }
      if (answer.status === 200) {
        const first = !state;
        state = await answer.json();
        seen = state.revision.join(",");
        plateKeys();
        if (first) choose(Math.max(0, state.notes.findIndex((each) => Object.values(each.cells).some((text) => !text))), state.columns[0]?.head ?? "");
        shown();
        if (document.body.dataset.stage === "look") look();
        if (STAGES.includes(document.body.dataset.stage)) tellStage();
      }
      if (waiting.length) deliver();
    } catch {
      link(`No connection to the bench. ${waiting.length ? "What you type is kept on this device." : "You can go on typing."}`);
      await new Promise((done) => setTimeout(done, 1000));
    }
  }
}

// ── the plate: what if it stood otherwise
const MOVES = ["up_mm", "tilt_x_mm_per_m", "tilt_y_mm_per_m"], STEP = 0.1;
const move = Object.fromEntries(MOVES.map((name) => [name, 0]));
const moved = (name) => { const { unit, digits, one } = state.moves[name]; return `${move[name] > 0 ? "+" : ""}${(move[name] * one).toFixed(digits)} ${unit}`; };

async function look() {
  board = await drawBoard({ seen, move, moves: MOVES.map((name) => [name, state.moves[name].words]), moved, picked: (k) => { if (k >= 0 && k < state.notes.length && k !== note) choose(k, column); } }) || board;
  globalThis.board = board;
  if (board && board.note !== note) board.pick(note);
}

async function asked(path, what) {
  const answer = await fetch(path, { method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify(what) });
  if (answer.ok) return answer.json();
  id("platewords").textContent = await answer.text();
  return null;
}

async function setPlate(words = "") {
  for (const name of MOVES) id(name).textContent = moved(name);
  id("platewords").textContent = "Working it out …";
  const told = await asked("plate", move);
  if (!told) return;
  const beyond = told.supports.filter(([, , too]) => too).map(([name]) => name);
  id("platewords").textContent = [words, beyond.length ? `The supports do not allow it at ${beyond.join(", ")}.` : ""].filter(Boolean).join(" ");
  id("supports").replaceChildren(...told.supports.map(([name, lift, too]) => {
    const row = made("tr", "", { className: too ? "alarm" : "" });
    row.append(made("td", name), made("td", lift));
    return row;
  }));
  id("plateline").replaceChildren(...told.headline.map((line) => made("li", line)));
  id("platerows").replaceChildren(...state.notes.filter(({ note }) => told.notes[note]).map(({ note, name }) => {
    const row = made("tr");
    row.append(made("td", name), ...told.notes[note].map((text) => made("td", text.replace("°", ""))));
    return row;
  }));
}

// made anew where the words change: whether it is a grand is known with the first answer
const plateWords = () => MOVES.map((name) => state.moves[name].words).join();
const plateKeys = () => id("moves").dataset.words === plateWords() || (id("moves").dataset.words = plateWords(), id("moves").replaceChildren(...MOVES.map((name) => {
  const { words } = state.moves[name], box = made("div", ""), less = made("button", "−", { type: "button" }), more = made("button", "+", { type: "button" });
  less.setAttribute("aria-label", `${words}: less`); more.setAttribute("aria-label", `${words}: more`);
  const by = (sign) => () => { move[name] = Math.round((move[name] + sign * STEP) * 1000) / 1000; setPlate(); };
  less.onclick = by(-1); more.onclick = by(1);
  box.append(made("span", words), made("output", moved(name), { id: name }), less, more);
  return box;
})));
id("asitis").onclick = () => { for (const name of MOVES) move[name] = 0; setPlate(); };
id("best").onclick = async () => {
  const best = await asked("setting", {});
  if (!best) return;
  for (const name of MOVES) move[name] = best[name];
  setPlate(best.words);
};

// ── the stages that are told as the commands tell them
const LATER = { preload: "preloaded", string: "strung" }; // the state that a stage leads to
const STAGES = ["press", "preload", "string", "again"];
let toldOf = "";
async function tellStage() {
  const name = document.body.dataset.stage, of = `${name} ${seen}`;
  if (toldOf === of) return;
  toldOf = of;
  if (id("stage").dataset.of !== name) { id("stagetitle").textContent = ""; id("stageblocks").replaceChildren(); id("places").replaceChildren(); id("later").hidden = true; id("stagecaution").textContent = ""; }
  id("stage").dataset.of = name;
  id("stageline").replaceChildren(made("li", "Working it out …"));
  let answer;
  try { answer = await fetch(`told/${name}`); } catch { toldOf = ""; return; }
  if (toldOf !== of) return; // another stage, or newer readings, have been asked for since
  if (!answer.ok) { tellNext(); id("stagetitle").textContent = ""; id("stageblocks").replaceChildren(); places({}); later(); id("stageline").replaceChildren(made("li", await answer.text())); return; }
  const told = await answer.json();
  id("stagetitle").textContent = told.title;
  id("stageline").replaceChildren(...[...told.headline, ...told.look].map((line) => made("li", line)));
  id("stageblocks").replaceChildren(...told.blocks.map(block));
  id("stagecaution").textContent = told.caution;
  tellNext(told.next);
  places(told);
  later(told.later);
}

let everyRow = false; // of the tables that show few at first
function block({ text, title, heads, meanings, groups }) {
  if (text !== undefined) return made("p", text, { className: "words" });
  const box = made("div", "", { className: "scroll", tabIndex: 0 }), table = made("table"), head = made("thead"), body = made("tbody"), row = made("tr");
  box.setAttribute("aria-label", title || "table"); box.setAttribute("role", "region");
  if (title) table.append(made("caption", title));
  row.append(...heads.map((words, k) => made("th", words, { title: meanings[k], scope: "col" })));
  head.append(row);
  const more = [], shown = groups.flatMap(({ title: words, rows }) => {
    const lines = rows.map(({ cells, few, note: number }) => {
      const line = made("tr", "", { onclick: number === null ? null : () => goTo(number) });
      line.append(...cells.map((cell) => made("td", cell)));
      if (!few) more.push(line);
      return line;
    });
    if (!words) return lines;
    const line = made("tr", "", { className: "group" });
    line.append(made("td", words, { colSpan: heads.length }));
    if (!rows.some(({ few }) => few)) more.push(line);
    return [line, ...lines];
  });
  body.append(...shown);
  table.append(head, body);
  box.append(table);
  if (!more.length) return box;
  const all = made("button", "", { type: "button", onclick: () => { everyRow = !everyRow; told(); } });
  const told = () => { for (const line of more) line.hidden = !everyRow; all.textContent = everyRow ? "fewer notes" : "all notes"; all.setAttribute("aria-expanded", String(everyRow)); };
  told();
  const both = made("div");
  both.append(box, all);
  return both;
}

function sendRow(path, what) {
  id("rowdoubt").textContent = "";
  waiting.push({ key: newKey(), path, rh: humidity(), ...what });
  stored();
  deliver();
}

function places({ places: where, units, trials }) {
  if (!where) { id("places").replaceChildren(); return; }
  const typedNow = Object.fromEntries([...document.querySelectorAll(".place")].map((each) => [each.dataset.at, [...each.querySelectorAll("input")].map((input) => input.value)]));
  // a place whose dial is being typed stays, though the new list has it no longer
  const typing = [...document.querySelectorAll("form.place")].filter((each) => each.querySelectorAll("input")[1].value).map((each) => each.told);
  const still = typing.filter((each) => !where.some(({ cells }) => JSON.stringify(cells) === JSON.stringify(each.cells)));
  const focused = document.activeElement?.closest("form.place") && document.activeElement.getAttribute("aria-label");
  id("places").replaceChildren(...[...still, ...where].map((told) => {
    const { name, cells, force } = told, form = made("form", "", { className: "place", told }), at = JSON.stringify(cells), before = typedNow[at] || [force, ""];
    form.dataset.at = at;
    const load = made("input", "", { value: before[0], inputMode: "decimal", maxLength: 20, autocomplete: "off" }), dial = made("input", "", { value: before[1], inputMode: "decimal", maxLength: 20, autocomplete: "off" });
    load.setAttribute("aria-label", `load at ${name}`); dial.setAttribute("aria-label", `dial at ${name}`);
    const [pressed, read] = [["load", load, units.force], ["dial reads", dial, units.sink]].map(([words, input, unit]) => { const label = made("label", `${words} `); label.append(input, ` ${unit}`); return label; });
    form.append(made("b", name), pressed, read, made("button", "keep", { type: "submit", className: "strong" }));
    form.onsubmit = (event) => { event.preventDefault(); sendRow("row", { table: "trials", cells: { ...cells, force: load.value, sink: dial.value } }); dial.value = ""; };
    return form;
  }), ...trials.map(({ name, told }) => {
    const row = made("div", "", { className: "place" }), out = made("button", "take out", { type: "button", onclick: () => sendRow("out", { trial: name }) });
    out.setAttribute("aria-label", `take out trial ${name}`);
    row.append(made("b", `trial ${name}: ${told}`), out);
    return row;
  }));
  if (focused) [...document.querySelectorAll("form.place input")].find((each) => each.getAttribute("aria-label") === focused)?.focus();
}

function later(form) {
  id("later").hidden = !form;
  if (!form) return;
  const kept = [id("laternote").value, id("laterkind").value, id("laterstate").value];
  id("laternote").replaceChildren(...form.notes.map(([number, name]) => new Option(name, number)));
  id("laterkind").replaceChildren(...Object.keys(form.kinds).map((kind) => new Option(kind.replace("_deg", " angle").replace("_", " "), kind)));
  id("laterstate").replaceChildren(...form.states.map((name) => new Option(name, name)));
  [id("laternote").value, id("laterkind").value, id("laterstate").value] = kept[1] ? kept : [state.notes[note].note, Object.keys(form.kinds)[0], "strung"];
  if (laterAt) [id("laternote").value, id("laterstate").value] = laterAt;
  laterAt = null;
  const unit = () => { id("laterunit").textContent = form.kinds[id("laterkind").value]; };
  id("laterkind").onchange = unit;
  unit();
  id("later").onsubmit = (event) => {
    event.preventDefault();
    const kind = id("laterkind").value;
    sendRow("row", { table: "readings", cells: { kind, place: id("laternote").value, [form.columns[kind]]: id("latervalue").value, state: id("laterstate").value } });
    id("latervalue").value = "";
  };
}

function stage(name) {
  everyNext = false;
  document.body.dataset.stage = name;
  for (const section of document.querySelectorAll("[data-in]")) section.hidden = !section.dataset.in.split(" ").includes(name);
  if (STAGES.includes(name)) { toldOf = ""; tellStage(); }
  for (const button of document.querySelectorAll("[data-stage]")) if (button.tagName === "BUTTON") button.setAttribute("aria-pressed", String(button.dataset.stage === name));
  if (name === "look") look();
  if (name === "plate") setPlate();
  if (state && !STAGES.includes(name)) tellNext(state.next);
}

id("keys").append(...KEYS.map((key) => {
  const button = made("button", key === "space" ? "␣" : key === "clear" ? "C" : key, { type: "button", onclick: () => press(key === "−" ? "-" : key) });
  button.setAttribute("aria-label", { "⌫": "take back a digit", "−": "minus", "/": "fraction", ".": "point", space: "space", clear: "clear" }[key] || key);
  return button;
}));
id("before").onclick = () => choose(note - 1, column);
id("after").onclick = () => choose(note + 1, column);
id("keep").onclick = keep;
id("undo").onclick = () => {
  if (!last) return;
  const place = state.notes.findIndex((each) => each.note === last.note), text = last.before;
  choose(place, last.column);
  send(at(), text, true);
  last = null;
  shown();
};
id("theirs").onclick = () => settle(false);
id("mine").onclick = () => settle(true);
for (const button of document.querySelectorAll("nav button")) button.onclick = () => stage(button.dataset.stage);
document.addEventListener("keydown", (event) => {
  if (event.target.closest("input, select, canvas") || event.ctrlKey || event.altKey || event.metaKey || !state) return;
  const keys = { Backspace: "⌫", " ": "space" };
  if (/^[0-9.,/-]$/.test(event.key)) press(event.key);
  else if (keys[event.key] && document.activeElement === document.body) press(keys[event.key]);
  else if (event.key === "Enter" && document.activeElement === document.body) keep();
  else if (event.key === "ArrowRight") choose(note + 1, column);
  else if (event.key === "ArrowLeft") choose(note - 1, column);
  else return;
  event.preventDefault();
});
id("old").remove();
humidityField(id("rh"));
stage("measure");
follow();
