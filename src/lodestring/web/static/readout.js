// Reading a plot with pointer or keys. Points come as data beside the picture, never out of its paths.

const PREFIX = { Hz: [1e3, "kHz", 1], m: [1e-3, "mm", 0], T: [1e-3, "mT", 0], ohm: [1e3, "kOhm", 1], s: [60, "min", 1] };

/** A number with its unit for people: three figures. */
function said(value, unit) {
  const [size, name, above] = PREFIX[unit] || [1, unit === "1" ? "" : unit, 0];
  const use = !above || Math.abs(value) >= size;
  const scaled = use ? value / size : value;
  const digits = Math.abs(scaled) >= 100 ? 0 : Math.abs(scaled) >= 10 ? 1 : 2;
  const text = Number.isInteger(scaled) && unit === "1" ? String(scaled) : scaled.toFixed(digits);
  return `${text.replace("-", "\u2212")} ${use ? name : unit}`.trim();
}

function at(series, x, log) {
  const xs = series.x;
  if (x < xs[0] || x > xs[xs.length - 1]) return null;
  let i = xs.findIndex((v) => v >= x);
  if (i <= 0) return series.y[0];
  const f = log ? Math.log : (v) => v;
  const share = (f(x) - f(xs[i - 1])) / (f(xs[i]) - f(xs[i - 1]) || 1);
  return series.y[i - 1] + share * (series.y[i] - series.y[i - 1]);
}

const name_of = (id, data) => data.series.find((s) => s.id === id)?.label || id.replace("-", " ");

/** Let a plot be read: Tab to it, then arrow keys; or point at it. */
export function readable(place) {
  place.points = null;
  if (place.tabIndex === 0) return;
  place.tabIndex = 0;
  place.setAttribute("role", "group");
  place.setAttribute("aria-label", `${place.querySelector("title")?.textContent || "Plot"}; arrow keys read it`);
  place.addEventListener("pointermove", (event) => show(place, event.clientX - place.getBoundingClientRect().left));
  place.addEventListener("pointerdown", (event) => show(place, event.clientX - place.getBoundingClientRect().left));
  place.addEventListener("pointerleave", () => hide(place));
  place.addEventListener("blur", () => hide(place));
  place.addEventListener("keydown", (event) => {
    const step = { ArrowLeft: -1, ArrowRight: 1, PageUp: -10, PageDown: 10 }[event.key];
    if (event.key === "Escape") hide(place);
    else if (step || event.key === "Home" || event.key === "End") {
      event.preventDefault();
      walk(place, step || (event.key === "Home" ? -Infinity : Infinity));
    }
  });
}

async function points(place) {
  if (!place.points) {
    const query = new URLSearchParams({ width: place.dataset.drawn, ...(place.dataset.kept && { compare: place.dataset.kept }) });
    const address = place.dataset.picture.replace("/picture/", "/readout/").replace(/\.svg$/, ".json");
    place.points = fetch(`${address}?${query}`).then((answer) => (answer.ok ? answer.json() : null)).catch(() => null);
  }
  return place.points;
}

async function walk(place, by) {
  const data = await points(place);
  if (!data) return;
  const { start, end } = data.rails.x;
  const scale = place.clientWidth / data.rails.width;
  const from = place.read ?? (start + end) / 2 * scale;
  const xs = Number.isFinite(by) ? from + by * ((end - start) * scale) / 60 : by < 0 ? start * scale : end * scale;
  show(place, xs, true);
}

async function show(place, px, aloud = false) {
  const ask = (place.ask = Symbol("newest"));
  const data = await points(place);
  if (!data || place.ask !== ask) return;
  const { x } = data.rails;
  const scale = place.clientWidth / data.rails.width;
  const mm = Math.min(Math.max(px / scale, x.start), x.end);
  const share = (mm - x.start) / (x.end - x.start);
  let value = x.scale === "log" ? x.low * (x.high / x.low) ** share : x.low + share * (x.high - x.low);
  const first = data.series[0];
  if (first && first.unit.x === "1") value = Math.round(value);
  place.read = mm * scale;
  const rows = data.series.map((s) => [s.id.startsWith("kept-") ? `${name_of(s.id.slice(5), data)} kept` : s.label || s.id.replace("-", " "), at(s, value, x.scale === "log"), s.unit.y]).filter((row) => row[1] !== null);
  const box = place.querySelector(".reading") || place.appendChild(Object.assign(document.createElement("div"), { className: "reading" }));
  const cross = place.querySelector(".cross") || place.appendChild(Object.assign(document.createElement("div"), { className: "cross" }));
  const head = Object.assign(document.createElement("b"), { textContent: said(value, first?.unit.x || "1") });
  box.replaceChildren(head, ...rows.map(([name, y, unit]) => {
    const row = document.createElement("span");
    row.append(Object.assign(document.createElement("span"), { textContent: name }), Object.assign(document.createElement("span"), { textContent: said(y, unit) }));
    return row;
  }));
  const { y } = data.rails;
  place_at(cross, mm * scale, Math.min(y.start, y.end) * scale, Math.abs(y.start - y.end) * scale);
  place_at(box, Math.min(mm * scale + 10, Math.max(0, place.clientWidth - box.offsetWidth)), 4);
  if (aloud) {
    const live = document.getElementById("live");
    if (live) live.textContent = `${head.textContent}: ${rows.map(([name, v, unit]) => `${name} ${said(v, unit)}`).join(", ")}`;
  }
}

// Set through the object model, which the page's policy allows; a style attribute in the markup it would not.
function place_at(element, left, top, height) {
  element.style.left = `${left}px`;
  element.style.top = `${top}px`;
  if (height) element.style.height = `${height}px`;
}

function hide(place) {
  place.ask = null;
  place.querySelector(".reading")?.remove();
  place.querySelector(".cross")?.remove();
}
