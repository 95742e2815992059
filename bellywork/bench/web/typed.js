// What was typed at this bench and stands since, each to be taken back; and the day's humidity that goes with it.

const made = (kind, words = "", more = {}) => Object.assign(document.createElement(kind), { textContent: words, ...more });
const RH = "bellywork-bench-rh", today = () => new Date().toLocaleDateString("sv"); // 2026-05-04, by this device's clock

// the humidity typed today; yesterday's does not count
export function humidity() {
  const [day, rh] = (localStorage.getItem(RH) || " ").split(" ");
  return day === today() ? rh : "";
}

export function humidityField(input) {
  input.value = humidity();
  input.onchange = () => localStorage.setItem(RH, `${today()} ${input.value.trim().replace(",", ".")}`);
}

// list: of, what, at, rh of each; back(of) takes one back
export function showTyped(place, list, back) {
  place.hidden = !list.length;
  place.querySelector("summary").textContent = `${list.length} typed here: look over, take back`;
  place.querySelector("ul").replaceChildren(...list.map(({ of, what, at, rh }) => {
    const item = made("li"), button = made("button", "take back", { type: "button", onclick: () => { button.disabled = true; back(of); } });
    button.setAttribute("aria-label", `take back ${what}`);
    item.append(made("span", `${what} (${at.slice(0, 16).replace("T", " ")}${rh ? `, ${rh} % RH` : ", humidity not told"})`), button);
    return item;
  }));
}
