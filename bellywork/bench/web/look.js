// The board in three dimensions on the bench: the plate as it is tried, before and after, all with the numbers of the moment.

const UNMOVED = { up_mm: 0, tilt_x_mm_per_m: 0, tilt_y_mm_per_m: 0 };

// id finds an element of the page; picked(k) is called with the place of a string that was touched
export function picture(id, picked) {
  let board = null, drawn = "", data = {}, wanted = 0;

  async function fetched(move) {
    const answer = await fetch("scene", { method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify(move) });
    if (answer.ok) return answer.json();
    id("scenewords").textContent = await answer.text();
    return null;
  }

  // seen: the readings and answers that it stands for; a picture is fetched anew only where these or the plate changed
  async function draw(seen, move) {
    const of = `${seen} ${JSON.stringify(move)}`, own = ++wanted;
    if (drawn === of) return;
    const now = data.seen === seen ? data.now : await fetched(UNMOVED);
    const so = now && (Object.values(move).some(Boolean) ? await fetched(move) : now);
    if (!so || own !== wanted) return;
    const first = !data.now;
    data = { seen, now, so };
    drawn = of;
    if (first && !(await opened(so))) return;
    shown(so);
  }

  async function opened(so) {
    const { Board } = await import("./board.js");
    id("state").replaceChildren(...so.states.map((each, k) => new Option(each.name, k)));
    id("state").value = so.state;
    id("state").onchange = id("colour").onchange = () => shown(data.so);
    id("asnow").onclick = () => { id("state").value = data.now.state; shown(data.now); };
    id("asplaned").onclick = () => { id("state").value = data.so.states.length - 1; shown(data.so); };
    try {
      board = globalThis.board = new Board(id("canvas"), id("labels"), so, (k) => { if (k >= 0) picked(k); });
    } catch {
      id("view").hidden = true;
      id("scenewords").textContent = "This browser cannot draw in three dimensions: WebGL 2 is missing or switched off. Every number stands under plane.";
      return false;
    }
    coloured(so);
    board.show(so.state, so.colour);
    board.look(so.camera);
    return true;
  }

  function coloured(of) {
    const kept = id("colour").value;
    id("colour").replaceChildren(...Object.entries(of.colours).map(([name, { label }]) => new Option(label, name)));
    id("colour").value = kept in of.colours ? kept : of.colour;
  }

  function shown(of) {
    if (!board) return;
    coloured(of);
    if (board.data !== of) board.renew(of);
    const colour = id("colour").value, { heading, low, high, scale } = of.colours[colour];
    board.show(Number(id("state").value), colour);
    id("legend").textContent = `${heading}: ${low} (${scale[0]}) … ${high} (${scale.at(-1)})`;
    id("scenewords").textContent = board.note < 0 ? of.states[board.state].title[0] : of.states[board.state].notes[board.note].join("; ");
    id("asnow").setAttribute("aria-pressed", String(of === data.now && board.state === of.state));
    id("asplaned").setAttribute("aria-pressed", String(of === data.so && board.state === of.states.length - 1));
  }

  return { draw, pick: (k) => { if (board && board.note !== k) board.pick(k); } };
}
