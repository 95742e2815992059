// The board in three dimensions on the bench: its states before and after, and what if the plate stood otherwise.

const id = (name) => document.getElementById(name);
const made = (kind, words = "", more = {}) => Object.assign(document.createElement(kind), { textContent: words, ...more });
const MOST = 3, STEP = 0.05; // mm, mm per m: what a slider reaches; the plate's own page goes farther
let board = null, shown = null, earlier = null, tried = null, drawn = "", asking = false, again = false, how = null;

const isBefore = () => id("swap").getAttribute("aria-pressed") === "true";
const isMoved = () => Object.values(how.move).some((value) => value !== 0);

// how: seen (which readings), move (of the plate, by name), moves (name, words), moved(name) in words, picked(k); gives the Board, or nothing
export async function drawBoard(given) {
  how = given;
  sliders();
  if (drawn === how.seen && shown) { await tryPlate(); return board; }
  drawn = how.seen;
  const answer = await fetch("scene");
  if (!answer.ok) { say(await answer.text()); drawn = ""; return null; }
  earlier = tried = await answer.json();
  const { Board } = await import("./board.js"), kept = ["state", "earlier", "colour"].map((name) => id(name).value);
  for (const name of ["state", "earlier"]) id(name).replaceChildren(...earlier.states.map((each, k) => new Option(each.name, k)));
  id("colour").replaceChildren(...Object.entries(earlier.colours).map(([name, { label }]) => new Option(label, name)));
  [id("state").value, id("earlier").value, id("colour").value] = kept[2] ? kept : [earlier.state, earlier.state, earlier.colour];
  if (!id("colour").value) id("colour").value = earlier.colour; // of the band, once nothing is learned any more
  if (!board) {
    try {
      board = new Board(id("canvas"), id("labels"), earlier, (k) => { tell(); how.picked(k); });
    } catch {
      id("view").hidden = true;
      say("This browser cannot draw in three dimensions: WebGL 2 is missing or switched off. Every number stands under plane.");
      return null;
    }
    shown = earlier;
    show();
    board.look(earlier.camera);
  } else show();
  if (isMoved()) await tryPlate();
  return board;
}

function show() {
  if (!board) return;
  const before = isBefore(), data = before ? earlier : tried, colour = id("colour").value;
  if (data !== shown) { board.renew(data); shown = data; }
  board.show(Number(id(before ? "earlier" : "state").value), colour);
  const { heading, low, high, scale } = data.colours[colour], { known } = data.states[board.state].colours[colour];
  id("legend").textContent = known ? `${heading}: ${low} (${scale[0]}) … ${high} (${scale.at(-1)})` : `${heading}: not known in this state, or with the plate moved`;
  id("swap").textContent = before ? "show after" : "show before";
  tell();
}

const say = (...lines) => id("scenewords").replaceChildren(...lines.map((line) => made("p", line)));

function tell() {
  const one = tried.states[id("state").value], other = earlier.states[id("earlier").value], k = board ? board.note : -1;
  const lines = [...(isBefore() ? ["Shown: before."] : []), one.title[1], one.title[2], ...one.marked];
  if (k >= 0) lines.push(...one.notes[k], `Before, ${other.title[1]}: ${other.notes[k][1]}   ${other.notes[k][2]}`);
  say(...lines);
}

// ── the plate by hand
function sliders() {
  if (!id("tilts").children.length) id("tilts").append(...how.moves.map(([name, words]) => {
    const box = made("div"), label = made("label", `plate ${words} `), slider = made("input", "", { type: "range", min: -MOST, max: MOST, step: STEP, id: `slide_${name}` });
    label.append(slider);
    box.append(label, made("output", "", { id: `slid_${name}` }));
    slider.oninput = () => { how.move[name] = Number(slider.value); sliders(); tryPlate(); };
    return box;
  }));
  for (const [name] of how.moves) {
    const text = how.moved(name);
    id(`slide_${name}`).value = how.move[name]; id(`slid_${name}`).textContent = text; id(`slide_${name}`).setAttribute("aria-valuetext", text);
  }
}

// a drag does not queue: while one setting is worked out, only the last of those that follow is asked for
async function tryPlate() {
  if (asking) { again = true; return; }
  asking = true;
  do {
    again = false;
    if (!isMoved()) tried = earlier;
    else {
      try {
        const answer = await fetch("tried", { method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify(how.move) });
        if (!answer.ok) { say(await answer.text()); continue; }
        tried = await answer.json();
      } catch { say("No connection to the bench."); continue; }
    }
    show();
  } while (again);
  asking = false;
}

for (const name of ["state", "earlier", "colour"]) id(name).onchange = show;
id("swap").onclick = () => { id("swap").setAttribute("aria-pressed", String(!isBefore())); show(); };
id("level").onclick = () => { for (const [name] of how.moves) how.move[name] = 0; sliders(); tryPlate(); };
