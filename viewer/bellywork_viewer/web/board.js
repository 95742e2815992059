// A board in three dimensions on a canvas: turned, moved, brought nearer and picked from, by hand or by keys.
// Shared by the one-file page and by whatever else shows the board; the words around it belong to those.

import * as THREE from "three";
import { OrbitControls } from "./OrbitControls.js";

const bytes = (text) => Uint8Array.from(atob(text), (c) => c.charCodeAt(0));
const floats = (text) => new Float32Array(bytes(text).buffer);
const NEAR_MOUSE = 14, NEAR_FINGER = 26, STILL = 6; // px: how near a string is hit, how little a tap may move
const TURN = Math.PI / 24, ZOOM = 1.15; // one key press
const SLANT = 1e-4; // rad: the camera never stands quite on the pole, where up would have no meaning
const HALO_MM = 5, MARGIN = 0.94;

export class Board {
  // picked(k) is called with the place of the picked note, -1 for none
  constructor(canvas, labels, data, picked) {
    Object.assign(this, { canvas, data, picked, labels: labels, state: 0, colour: data.colour, note: -1, preset: "" });
    this.renderer = new THREE.WebGLRenderer({ canvas, antialias: true, preserveDrawingBuffer: true });
    this.renderer.outputColorSpace = THREE.LinearSRGBColorSpace; // colours stand for numbers: they are shown as they are
    this.renderer.setClearColor(new THREE.Color(...data.paper.map((c) => c / 255)));
    this.scene = new THREE.Scene();
    this.light();
    this.parts = data.surfaces.map((surface) => this.part(surface));
    this.box = new THREE.Box3().setFromArray(data.box.flat());
    this.lens = { far: new THREE.OrthographicCamera(), near: new THREE.PerspectiveCamera(data.angle) };
    for (const camera of Object.values(this.lens)) camera.up.set(0, 0, 1);
    this.camera = this.lens.near;
    this.controls = new OrbitControls(this.camera, canvas);
    Object.assign(this.controls, { minPolarAngle: SLANT, maxPolarAngle: Math.PI - SLANT, minZoom: 0.5, maxZoom: 30 });
    this.controls.addEventListener("change", () => this.draw());
    this.controls.addEventListener("start", () => (this.preset = ""));
    this.listen();
    new ResizeObserver(() => this.resized()).observe(canvas.parentElement);
  }

  light() {
    // full on what lies flat, from above and from below: the wood keeps its pale colour behind the strings
    this.scene.add(new THREE.AmbientLight(0xffffff, 0.62 * Math.PI));
    for (const z of [1, -1]) {
      const sun = new THREE.DirectionalLight(0xffffff, 0.38 * Math.PI);
      sun.position.set(0, 0, z);
      this.scene.add(sun);
    }
  }

  part(surface) {
    const geometry = new THREE.BufferGeometry(), xy = floats(surface.xy), count = xy.length / 2;
    const place = new Float32Array(3 * count);
    for (let k = 0; k < count; k++) place.set([xy[2 * k], xy[2 * k + 1], 0], 3 * k);
    geometry.setAttribute("position", new THREE.BufferAttribute(place, 3));
    geometry.setAttribute("color", new THREE.BufferAttribute(new Uint8Array(3 * count), 3, true));
    geometry.setIndex(new THREE.BufferAttribute(new Uint16Array(bytes(surface.faces).buffer), 1));
    const clear = surface.opacity < 1, how = {
      vertexColors: true, side: THREE.DoubleSide, transparent: clear, opacity: surface.opacity, depthWrite: !clear,
    };
    const plain = new THREE.MeshBasicMaterial(how), lit = new THREE.MeshLambertMaterial({ ...how, flatShading: true });
    const mesh = new THREE.Mesh(geometry, surface.flat ? plain : lit);
    mesh.renderOrder = clear ? 1 : 0;
    this.scene.add(mesh);
    return { mesh, surface, plain, lit, notes: surface.notes && bytes(surface.notes), rgb: surface.rgb && bytes(surface.rgb) };
  }

  // other arrays of the same board, such as with its plate moved: the camera stays where it is
  renew(data) {
    for (const { mesh, plain, lit } of this.parts) { this.scene.remove(mesh); mesh.geometry.dispose(); plain.dispose(); lit.dispose(); }
    this.data = data;
    this.parts = data.surfaces.map((surface) => this.part(surface));
    this.box.setFromArray(data.box.flat());
  }

  show(state, colour) {
    Object.assign(this, { state, colour });
    const shown = this.data.states[state], rgb = bytes(shown.colours[colour].rgb), onPanel = this.data.colours[colour].on_panel;
    for (const part of this.parts) {
      const { mesh, surface } = part, place = mesh.geometry.attributes.position, tint = mesh.geometry.attributes.color;
      mesh.visible = surface.z[state] !== null && !(surface.name.startsWith("band ") && onPanel);
      if (!mesh.visible) continue;
      floats(surface.z[state]).forEach((z, k) => place.setZ(k, z));
      if (surface.name === "panel") mesh.material = onPanel ? part.plain : part.lit;
      const of = surface.name === "panel" && onPanel ? (k) => 3 * (k % (rgb.length / 3))
        : part.notes && !onPanel ? (k) => 3 * part.notes[k] : null;
      const fixed = part.notes ? this.data.steel : surface.colour;
      for (let k = 0; k < tint.count; k++)
        tint.array.set(of ? rgb.subarray(of(k), of(k) + 3) : part.rgb ? part.rgb.subarray(3 * k, 3 * k + 3) : fixed, 3 * k);
      place.needsUpdate = tint.needsUpdate = true;
      mesh.geometry.computeBoundingSphere();
    }
    this.pick(this.note);
  }

  pick(note) {
    this.note = note;
    if (this.halo) { this.scene.remove(this.halo); this.halo.geometry.dispose(); }
    this.halo = note < 0 ? null : this.hull(this.paths[note]);
    if (this.halo) this.scene.add(this.halo);
    this.label();
    this.picked(note);
    this.draw();
  }

  step(by) {
    const last = this.paths.length - 1, from = this.note < 0 ? this.data.states[this.state].worst - by : this.note;
    this.pick(Math.min(Math.max(from + by, 0), last));
  }

  get paths() { return this.data.states[this.state].paths; }

  hull(path) {
    // only the far side of a thicker tube: a dark rim round the string that leaves its colour to be seen
    const line = new THREE.CurvePath(), ends = path.map((p) => new THREE.Vector3(...p));
    for (let k = 0; k + 1 < ends.length; k++) line.add(new THREE.LineCurve3(ends[k], ends[k + 1]));
    const ink = new THREE.Color(...this.data.ink.map((c) => c / 255));
    return new THREE.Mesh(new THREE.TubeGeometry(line, 60, HALO_MM, 8), new THREE.MeshBasicMaterial({ color: ink, side: THREE.BackSide }));
  }

  label() {
    const shown = this.data.states[this.state], all = [...shown.labels, ...shown.colours[this.colour].labels];
    // the picked note may be among the worst: it is named once
    const picked = this.note < 0 ? [] : [shown.picked[this.note]], others = all.filter(({ text }) => !picked.some((each) => each.text === text));
    this.labels.replaceChildren(...[...others, ...picked].map(({ text, place, kind }) => {
      const words = document.createElement("div");
      words.className = `label ${kind}`; words.dataset.kind = kind; words.textContent = text; words.place = place;
      return words;
    }));
  }

  resized() {
    const { clientWidth: wide, clientHeight: high } = this.canvas.parentElement;
    if (!wide || !high) return;
    this.renderer.setPixelRatio(Math.min(devicePixelRatio || 1, 2));
    this.renderer.setSize(wide, high, false);
    if (this.preset) this.look(this.preset); else this.framed();
  }

  get size() { const box = this.canvas.getBoundingClientRect(); return [box.width, box.height]; }

  framed() {
    const [wide, high] = this.size, { near, far } = this.lens;
    near.aspect = wide / high;
    Object.assign(far, { left: -far.top * wide / high, right: far.top * wide / high });
    near.updateProjectionMatrix(); far.updateProjectionMatrix();
    this.draw();
  }

  look(preset) {
    const from = this.data.cameras[preset], [wide, high] = this.size, aspect = wide / high;
    this.preset = preset;
    this.camera = from.half ? this.lens.far : this.lens.near;
    this.camera.zoom = 1;
    const at = new THREE.Vector3(...from.at), back = new THREE.Vector3(...from.place).sub(at);
    if (from.half) back.set(0, from.place[2] > from.at[2] ? -SLANT : SLANT, Math.sign(back.z));
    const away = back.length();
    back.normalize();
    const tall = Math.tan(this.data.angle * Math.PI / 360) * MARGIN, half = [tall * aspect, tall];
    if (preset !== "bridge") this.fit(at, back, half, from.half); else {
      this.camera.position.copy(at).addScaledVector(back, away * Math.max(1, from.aspect / aspect));
    }
    this.controls.object = this.camera;
    this.controls.target.copy(at);
    const reach = this.box.getSize(new THREE.Vector3()).length();
    Object.assign(this.controls, { minDistance: reach / 40, maxDistance: 4 * Math.max(reach, this.camera.position.distanceTo(at)) });
    this.controls.update();
    this.framed();
  }

  // the camera that takes in everything: for each edge of the picture the farthest point touches it
  fit(at, back, half, parallel) {
    const right = new THREE.Vector3().crossVectors(this.camera.up, back).normalize(), up = new THREE.Vector3().crossVectors(back, right);
    const { min, max } = this.box, labels = this.data.states.flatMap((state) => state.labels.map((label) => label.place));
    const points = [...labels, ...[min.x, max.x].flatMap((x) => [min.y, max.y].flatMap((y) => [min.z, max.z].map((z) => [x, y, z])))]
      .map((p) => new THREE.Vector3(...p));
    const most = (axis, slope) => Math.max(...points.map((p) => p.dot(axis) + (parallel ? 0 : slope * p.dot(back))));
    const ends = [right, up].map((axis, k) => [most(axis, half[k]), most(axis.clone().negate(), half[k])]);
    const away = Math.max(...ends.map(([plus, minus], k) => (plus + minus) / 2 / half[k]));
    const deepest = Math.max(...points.map((p) => p.dot(back)));
    const centre = back.clone().multiplyScalar(parallel ? deepest + 1000 : away);
    [right, up].forEach((axis, k) => centre.addScaledVector(axis, (ends[k][0] - ends[k][1]) / 2));
    if (parallel) this.lens.far.top = -(this.lens.far.bottom = -away * half[1] / MARGIN);
    this.camera.position.copy(centre);
    at.copy(centre).addScaledVector(back, (this.box.getCenter(new THREE.Vector3()).dot(back) - centre.dot(back)));
  }

  turn(sideways, upwards) {
    const offset = this.camera.position.clone().sub(this.controls.target), length = offset.length();
    const pole = Math.min(Math.max(Math.acos(offset.z / length) - upwards, SLANT), Math.PI - SLANT);
    const round = Math.atan2(offset.y, offset.x) + sideways;
    offset.set(Math.sin(pole) * Math.cos(round), Math.sin(pole) * Math.sin(round), Math.cos(pole)).multiplyScalar(length);
    this.camera.position.copy(this.controls.target).add(offset);
    this.preset = "";
    this.controls.update();
  }

  nearer(by) {
    const { minZoom, maxZoom, minDistance, maxDistance, target } = this.controls;
    this.preset = "";
    if (this.camera.isOrthographicCamera) this.camera.zoom = Math.min(Math.max(this.camera.zoom * by, minZoom), maxZoom);
    else {
      const offset = this.camera.position.clone().sub(target);
      this.camera.position.copy(target).add(offset.setLength(Math.min(Math.max(offset.length() / by, minDistance), maxDistance)));
    }
    this.camera.updateProjectionMatrix();
    this.controls.update();
    this.draw();
  }

  // px from the canvas' own upper left corner; null behind the camera
  onScreen(place) {
    const at = new THREE.Vector3(...place).project(this.camera), [wide, high] = this.size;
    return at.z > 1 ? null : [(at.x + 1) / 2 * wide, (1 - at.y) / 2 * high];
  }

  // the note whose string passes nearest to a point of the canvas; -1 where none is near
  noteAt(x, y, within) {
    let best = within, found = -1;
    this.paths.forEach((path, note) => {
      const at = path.map((p) => this.onScreen(p));
      if (at.includes(null)) return;
      for (let k = 0; k + 1 < at.length; k++) {
        const [ax, ay] = at[k], dx = at[k + 1][0] - ax, dy = at[k + 1][1] - ay, long = dx * dx + dy * dy;
        const share = long ? Math.min(1, Math.max(0, ((x - ax) * dx + (y - ay) * dy) / long)) : 0;
        const away = Math.hypot(ax + share * dx - x, ay + share * dy - y);
        if (away < best) { best = away; found = note; }
      }
    });
    return found;
  }

  draw() {
    const { controls, camera, box } = this;
    controls.target.clamp(box.min, box.max);
    const away = camera.position.distanceTo(controls.target), reach = box.getSize(new THREE.Vector3()).length();
    if (camera.isPerspectiveCamera) camera.near = Math.max(away / 50, 5); else camera.near = away - 2 * reach;
    camera.far = away + 2 * reach;
    camera.updateProjectionMatrix();
    camera.updateMatrixWorld();
    this.renderer.render(this.scene, camera);
    this.placed();
    this.canvas.dataset.drawn = String(this.renderer.info.render.triangles);
  }

  // words at their places, inside the picture and none over another: the later gives way upwards, or is left out
  placed() {
    const [wide, high] = this.size, taken = [], order = ["picked", "worst", "octave"];
    const all = [...this.labels.children].sort((a, b) => order.indexOf(a.dataset.kind) - order.indexOf(b.dataset.kind));
    for (const words of all) {
      const at = this.onScreen(words.place);
      words.hidden = !at || at[0] < 0 || at[1] < 0 || at[0] > wide || at[1] > high;
      if (words.hidden) continue;
      const half = words.offsetWidth / 2, tall = words.offsetHeight, x = Math.min(Math.max(at[0], half), wide - half);
      const over = (y) => taken.some((box) => Math.abs(box.x - x) < box.half + half && Math.abs(box.y - y) < (box.tall + tall) / 2);
      let y = at[1];
      if (words.dataset.kind === "octave") words.hidden = over(y); else while (over(y) && y > 0) y -= tall / 2;
      if (words.hidden) continue;
      taken.push({ x, y, half, tall });
      Object.assign(words.style, { left: `${x}px`, top: `${y}px` });
    }
  }

  listen() {
    const { canvas } = this, down = new Map();
    let still = true;
    canvas.addEventListener("pointerdown", (e) => { still = down.size === 0; down.set(e.pointerId, [e.clientX, e.clientY]); });
    canvas.addEventListener("pointermove", (e) => {
      const was = down.get(e.pointerId);
      if (was && Math.hypot(e.clientX - was[0], e.clientY - was[1]) > STILL) still = false;
    });
    canvas.addEventListener("pointercancel", (e) => { still = false; down.delete(e.pointerId); });
    canvas.addEventListener("pointerup", (e) => {
      const was = down.get(e.pointerId), box = canvas.getBoundingClientRect();
      down.delete(e.pointerId);
      if (!was || !still || e.button !== 0) return;
      const note = this.noteAt(e.clientX - box.left, e.clientY - box.top, e.pointerType === "mouse" ? NEAR_MOUSE : NEAR_FINGER);
      if (note >= 0) this.pick(note);
    });
    canvas.addEventListener("keydown", (e) => {
      const turns = { ArrowLeft: [-TURN, 0], ArrowRight: [TURN, 0], ArrowUp: [0, TURN], ArrowDown: [0, -TURN] };
      const act = {
        ArrowLeft: () => this.step(-1), ArrowRight: () => this.step(1), "+": () => this.nearer(ZOOM), "=": () => this.nearer(ZOOM),
        "-": () => this.nearer(1 / ZOOM), Home: () => this.pick(0), End: () => this.pick(this.paths.length - 1), Escape: () => this.pick(-1),
      }[e.key];
      const turn = turns[e.key] && (e.shiftKey || !act);
      if (e.ctrlKey || e.altKey || e.metaKey || !(turn || act)) return;
      e.preventDefault();
      if (turn) this.turn(...turns[e.key]); else act();
    });
  }
}
