// The bench page: shows at once what was pressed, sends it until the book has it, and says where things stand.

import { listen, Sensor } from "./counting.js";
import { device_name, Outbox } from "./outbox.js";

const start = JSON.parse(document.getElementById("coil").textContent);
const $ = (id) => document.getElementById(id);
const device = device_name();
const box = new Outbox(start.serial, device, start.lamport);
const state = { coil: start, away: false, shut: false, busy: false, again: 0, shown: null };
const base = `/bench/${start.serial}`;
const group = (number) => String(Math.trunc(number)).replace(/\B(?=(\d{3})+$)/g, "\u202f").replace("-", "\u2212");
document.body.classList.add("scripted-page");

// ---- what is shown ----

/** Turns of this page that the numbers from the book do not hold yet. */
function pending() {
  const known = state.coil.devices[device] || { highest: 0, waiting: [] };
  const lacking = new Set(known.waiting);
  const base_event = box.all().filter(({ event }) => event.kind === "coil.count" && event.device === device && (event.n > known.highest || lacking.has(event.n))).at(-1)?.event;
  let turns = 0;
  for (const { event } of box.all()) {
    if (event.device !== device || event.kind !== "coil.turns") continue;
    if (event.n <= known.highest && !lacking.has(event.n)) continue;
    if (base_event && event.n <= (base_event.body.covers[device] || 0)) continue;
    turns += event.body.turns;
  }
  return { turns, base: base_event };
}

function holds() { return !state.coil.holder || state.coil.holder === device; }

function total() {
  const { turns, base: counted } = pending();
  if (counted) return counted.body.turns + turns;
  return state.coil.turns + (holds() ? turns : 0);
}

/** What the winder's own counter shows at so many turns. */
function counter(turns) {
  const since = turns - state.coil.zero;
  const whole = Math.trunc(since / state.coil.factor);
  const rest = since - whole * state.coil.factor;
  return rest ? `${group(whole)} and ${rest} turns more` : group(whole);
}

function show() {
  const now = total();
  $("number").textContent = group(now);
  $("number").classList.toggle("negative", now < 0);
  if ($("shows")) $("shows").textContent = counter(now);
  if ($("reading")) $("reading").placeholder = counter(now);
  $("done").setAttribute("width", String(1000 * Math.min(1, Math.max(0, now / state.coil.target))));
  document.title = `${group(now)} · ${start.serial}`;
  const apart = $("apart");
  const mine = pending().turns;
  apart.hidden = holds() || !mine;
  apart.textContent = holds() ? "" : `${group(mine)} of this device stand apart: another one holds the counter.`;
  $("take").hidden = holds();
  const waiting = box.waiting().length;
  const link = $("link");
  const words = state.shut
    ? `The workbench was started anew: open it again from its address, or scan its code. ${waiting} ${waiting === 1 ? "entry is" : "entries are"} kept here and then handed over.`
    : state.away
      ? `The computer is away; ${waiting} ${waiting === 1 ? "entry is" : "entries are"} kept here. Go on counting; do not load this page again until it is back.`
      : box.full
        ? "This browser's storage is full: what is counted now is kept in memory only. Hand over before closing the page."
        : "";
  if (link.textContent !== words) link.textContent = words;
  link.hidden = !words;
  document.body.toggleAttribute("data-away", state.away || state.shut);
  document.body.dataset.waiting = String(waiting);
  pause(now);
}

let beeped = null;
/** Sound and vibration when the next pause is reached, where they are wanted. */
function pause(now) {
  const next = state.coil.next;
  const at = next !== null && now >= next;
  document.body.toggleAttribute("data-pause", at);
  if (!at || beeped === next || state.shown === null) { state.shown = now; return; }
  beeped = next;
  state.shown = now;
  if (localStorage.getItem("lodestring:sound") === "yes") sound();
  if (localStorage.getItem("lodestring:shake") === "yes") navigator.vibrate?.([200, 100, 200]);
}

function sound() {
  const audio = new AudioContext();
  for (const [when, pitch] of [[0, 880], [0.18, 1175]]) {
    const tone = audio.createOscillator();
    const loud = audio.createGain();
    tone.frequency.value = pitch;
    loud.gain.setValueAtTime(0.25, audio.currentTime + when);
    loud.gain.exponentialRampToValueAtTime(0.001, audio.currentTime + when + 0.16);
    tone.connect(loud).connect(audio.destination);
    tone.start(audio.currentTime + when);
    tone.stop(audio.currentTime + when + 0.17);
  }
}

function take(told) {
  state.coil = told;
  box.lamport = Math.max(box.lamport, told.lamport);
  const live = $("live");
  if (told.html && live) {
    const made = document.createElement("template");
    made.innerHTML = told.html; // of our own server, everything of the maker's escaped there
    const fresh = made.content.firstElementChild;
    for (const open of live.querySelectorAll("details[open]")) if (open.id) fresh.querySelector(`#${open.id}`)?.setAttribute("open", "");
    live.replaceWith(fresh);
  }
  if (told.ended) box.clear();
  show();
}

// ---- sending ----

async function send() {
  if (state.busy) { state.again = 1; return; }
  state.busy = true;
  clearTimeout(state.timer);
  try {
    let more = true;
    while (more) {
      const events = box.waiting().slice(0, 200);
      const answer = await fetch(`${base}/events`, {
        method: "POST", headers: { "content-type": "application/json", accept: "application/json" },
        body: JSON.stringify({ events, holds: box.holds() }), signal: AbortSignal.timeout(8000),
      });
      if (answer.status === 403) { state.shut = true; state.away = false; break; }
      const told = await answer.json();
      if (!answer.ok) throw new Error(told.sentence);
      box.mark(told.have, true);
      for (const id of Object.keys(told.refused)) box.mark([id], true); // no event the book could ever take
      box.again(told.wants);
      state.away = false;
      state.shut = false;
      state.tries = 0;
      take(told.state);
      more = box.waiting().length > 0;
    }
  } catch {
    state.away = true;
    state.tries = Math.min(5, (state.tries || 0) + 1);
  }
  state.busy = false;
  show();
  if (state.again) { state.again = 0; send(); return; }
  if (state.away || state.shut) state.timer = setTimeout(send, Math.min(2000, 250 * 2 ** (state.tries || 1)));
}

function press(way, by) {
  if (state.coil.ended) return;
  box.put("coil.turns", { turns: way * state.coil.press, by });
  show();
  send();
}

// ---- saying ----

/** The winder's reading, when it needs no question: written down here, so that it works while the computer is away. */
function typed(event) {
  const text = $("reading").value.replace(/[\s\u202f]/g, "");
  if (!/^\d{1,7}$/.test(text)) return; // the server reads it, and says what is wrong
  const turns = state.coil.zero + Number(text) * state.coil.factor;
  const fewer = total() - turns;
  const odd = fewer > Math.max(5, 0.02 * total()) || turns < 0 || turns > 1.5 * state.coil.target + 100;
  if (odd && !state.away) return; // the server asks
  if (odd && !confirm(`That would be ${group(turns)} turns, ${group(total())} are counted. Is it right?`)) { event.preventDefault(); return; }
  event.preventDefault();
  const covers = Object.fromEntries(Object.entries(state.coil.devices).map(([name, known]) => [name, known.highest]));
  covers[device] = box.n;
  box.put("coil.count", { turns, covers, reading: text, why: "typed" });
  $("reading").value = "";
  $("reading").blur();
  show();
  send();
}

function hold() {
  const covers = Object.fromEntries(Object.entries(state.coil.devices).map(([name, known]) => [name, known.highest]));
  box.put("counter.take", { device, covers });
  state.coil.holder = device;
  show();
  send();
}

function undo() {
  const last = box.all().filter(({ event }) => event.device === device && event.kind !== "void").map(({ event }) => event);
  const gone = new Set(box.all().filter(({ event }) => event.kind === "void").map(({ event }) => event.body.event));
  const found = last.filter((event) => !gone.has(event.id)).at(-1);
  if (!found) return;
  box.put("void", { event: found.id });
  send();
}

async function photo(event) {
  const file = event.target.files[0];
  if (!file) return;
  await fetch(`${base}/photo`, { method: "POST", body: file, headers: { "content-type": file.type, accept: "application/json" } });
  location.reload();
}

// ---- listening ----

const keys = listen({
  press: (way) => press(way, "key"),
  line: (total_, id) => {
    const what = sensor.line(total_, id);
    if (what === "first") $("apart").hidden = false, $("apart").textContent = `The sensor is at ${group(total_)}; counting starts here.`;
  },
});
const sensor = new Sensor(start.serial, (turns, { total: of, start: id }) => {
  if (state.coil.ended) return;
  box.put("coil.turns", { turns, by: "sensor", total: of, start: id });
  show();
  send();
});
$("press").closest("form").addEventListener("submit", (event) => { event.preventDefault(); press(1, "tap"); });
$("less").closest("form").addEventListener("submit", (event) => { event.preventDefault(); press(-1, "tap"); });
$("typed")?.addEventListener("submit", typed);
$("take").addEventListener("click", hold);
$("back").addEventListener("click", undo);
$("photo")?.addEventListener("change", photo);
$("learn").addEventListener("click", () => {
  $("learned").textContent = "now press it";
  keys.learn((code) => { $("learned").textContent = `${code} counts now`; });
});
for (const name of ["sound", "shake"]) {
  $(name).checked = localStorage.getItem(`lodestring:${name}`) === "yes";
  $(name).addEventListener("change", (event) => localStorage.setItem(`lodestring:${name}`, event.target.checked ? "yes" : "no"));
}
$("device").textContent = device;
$("learned").textContent = keys.learned() ? `${keys.learned()} counts too` : "";
$("label").addEventListener("change", (event) => { if (event.target.value.trim()) { box.put("device.name", { label: event.target.value.trim() }); send(); } });
$("insecure").hidden = isSecureContext;
if (isSecureContext) navigator.wakeLock?.request("screen").catch(() => {});
addEventListener("online", send);
addEventListener("pagehide", () => sensor.write());
document.addEventListener("visibilitychange", () => { if (!document.hidden) send(); });

function news() {
  const socket = new WebSocket(`ws://${location.host}${base}/push`);
  socket.addEventListener("message", () => { if (!state.busy) refresh(); });
  socket.addEventListener("close", () => setTimeout(news, 3000));
}

let asked = false;
/** What other devices did. One question at a time; the newest answer counts. */
async function refresh() {
  if (asked) return;
  asked = true;
  try {
    const answer = await fetch(`${base}/state`, { headers: { accept: "application/json" }, signal: AbortSignal.timeout(8000) });
    if (answer.ok) take(await answer.json());
  } catch { /* sending tells whether the computer is away */ }
  asked = false;
}

show();
send();
news();
setInterval(() => { if (!state.away && !state.shut && !document.hidden) send(); }, 15000);
