// The band of what one gets at a note, drawn against what is wanted.

const SVG = "http://www.w3.org/2000/svg", WIDE = 400, MARGIN = 20;

function drawn(kind, more, words = "") {
  const one = document.createElementNS(SVG, kind);
  for (const [name, value] of Object.entries(more)) one.setAttribute(name, value);
  one.textContent = words;
  return one;
}

// reach: what one gets, the ends of its band, what is wanted, in degrees; text: the first with its band, as printed
export function showReach(place, reach, text) {
  place.replaceChildren();
  if (!reach) return;
  const [got, low, high, wanted] = reach, least = Math.min(low, wanted, 0), most = Math.max(high, wanted, 0);
  const room = 0.08 * (most - least) || 0.1, x = (value) => (MARGIN + (WIDE - 2 * MARGIN) * (value - least + room) / (most - least + 2 * room)).toFixed(1);
  const picture = drawn("svg", { viewBox: `0 0 ${WIDE} 58`, preserveAspectRatio: "xMinYMid", role: "img", "aria-label": `You get ${text} degrees: the band, and the mark of what is wanted` });
  picture.append(
    drawn("line", { class: "track", x1: MARGIN, x2: WIDE - MARGIN, y1: 30, y2: 30 }),
    drawn("rect", { class: "band", x: x(low), y: 20, width: Math.max(2, x(high) - x(low)), height: 20 }),
    drawn("line", { class: "want", x1: x(wanted), x2: x(wanted), y1: 14, y2: 46 }),
    drawn("circle", { class: "got", cx: x(got), cy: 30, r: 6 }),
    drawn("line", { class: "track", x1: x(0), x2: x(0), y1: 24, y2: 36 }),
    drawn("text", { x: x(wanted), y: 11, "text-anchor": "middle" }, "wanted"),
    drawn("text", { x: x(0), y: 54, "text-anchor": "middle" }, "0°"),
  );
  place.append(picture);
}
