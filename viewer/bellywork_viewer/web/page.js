// The one-file page: the board, its states and colours, and the numbers of the picked note.

import { Board } from "./board.js";

const id = (name) => document.getElementById(name), data = JSON.parse(id("data").textContent);
const made = (kind, words) => Object.assign(document.createElement(kind), { textContent: words });
let board = null;
const isBefore = () => id("swap").getAttribute("aria-pressed") === "true";

function told(note) {
  const state = data.states[id("state").value], other = data.states[id("earlier").value], lines = [...(note < 0 ? data.hint : state.notes[note])];
  if (note >= 0 && other !== state) lines.push(`Before, ${other.title[1]}: ${other.notes[note][1]}   ${other.notes[note][2]}`);
  id("note").replaceChildren(...lines.map((line, k) => made(note >= 0 && k === 0 ? "strong" : "p", line)));
}

function legend(colour, known) {
  const { heading, low, high, scale, ramp, meaning } = data.colours[colour];
  id("heading").textContent = known ? heading : `${heading}: not known in this state`; id("low").textContent = low; id("high").textContent = high; id("meaning").textContent = meaning;
  id("scale").replaceChildren(...scale.map((words) => made("span", words)));
  const rgb = Uint8Array.from(atob(ramp), (c) => c.charCodeAt(0)), picture = id("ramp"), steps = rgb.length / 3;
  picture.width = steps; picture.height = 1;
  picture.setAttribute("aria-label", `${heading}: ${low} at ${scale[0]}, ${high} at ${scale.at(-1)}`);
  const image = new ImageData(steps, 1);
  for (let k = 0; k < steps; k++) image.data.set([...rgb.subarray(3 * k, 3 * k + 3), 255], 4 * k);
  picture.getContext("2d").putImageData(image, 0, 0);
}

function shown() {
  const same = id("earlier").value === id("state").value, colour = id("colour").value;
  if (same) id("swap").setAttribute("aria-pressed", "false");
  id("swap").disabled = same;
  id("swap").textContent = isBefore() ? "show after" : "show before";
  const at = Number(id(isBefore() ? "earlier" : "state").value), state = data.states[at];
  id("name").textContent = state.title[0];
  id("said").replaceChildren(...[...(isBefore() ? ["Shown: before."] : []), ...state.title.slice(1), ...state.marked].map((line) => made("p", line)));
  legend(colour, state.colours[colour].known);
  board.show(at, colour);
}

function look(name) {
  if (name === "underside" && !data.colours[id("colour").value].on_panel) { id("colour").value = "crown"; shown(); }
  board.look(name);
  for (const button of id("cameras").children) button.setAttribute("aria-pressed", String(button.value === name));
}

for (const name of ["state", "earlier"]) data.states.forEach((state, k) => id(name).append(new Option(state.name, k)));
for (const [name, { label }] of Object.entries(data.colours)) id("colour").append(new Option(label, name));
for (const [name, { words }] of Object.entries(data.cameras)) {
  const button = Object.assign(made("button", words), { type: "button", value: name, onclick: () => look(name) });
  id("cameras").append(button);
}
id("state").value = id("earlier").value = data.state; id("colour").value = data.colour;
id("state").onchange = id("earlier").onchange = id("colour").onchange = shown;
id("swap").onclick = () => { id("swap").setAttribute("aria-pressed", String(!isBefore())); shown(); };
try {
  board = globalThis.board = new Board(id("view"), id("labels"), data, told);
} catch (error) {
  id("note").textContent = "This browser cannot draw in three dimensions: WebGL 2 is missing or switched off.";
  throw error;
}
id("before").onclick = () => board.step(-1); id("after").onclick = () => board.step(1);
id("worst").onclick = () => board.pick(data.states[id("state").value].worst);
shown();
look(data.camera);
