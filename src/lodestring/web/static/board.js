// The drawing board. One change is on its way at a time; what is typed meanwhile waits, so an older result never comes
// last. The server paints each group; this module puts the groups that changed into their places.

import { draw, put, watch } from "./pictures.js";
import { steps } from "./stepping.js";

const island = JSON.parse(document.getElementById("board").textContent);
const state = { set: island.set, digest: island.digest, compare: island.compare, busy: false, queue: new Map(), sent: new Map(), early: [], turn: 0, way: 0, off: false };
const base = `/set/${state.set}`;
const live = document.getElementById("live");
const say = (words) => { live.textContent = words; };
const part = (group) => document.getElementById(`part-${group}`);

// ---- sending ----

async function post(way, fields) {
  const body = new URLSearchParams({ digest: state.digest, compare: state.compare, ...fields });
  const answer = await fetch(`${base}/${way}`, { method: "POST", body, headers: { accept: "application/json" } });
  return answer.json();
}

/** Send a change when none is on its way; else it waits, and a newer value of the same field takes its place. */
function send(way, fields, about = null) {
  if (!about) state.sent.clear();
  const key = about?.name || `${way} ${state.queue.size}`;
  state.queue.delete(key);
  state.queue.set(key, { way, fields, about, based: about?.based });
  about?.closest(".field")?.classList.add("saving");
  run();
}

/** The page says in the markup that something is on its way: style sheet and tests go by it. */
function way(by) {
  state.way += by;
  document.body.toggleAttribute("data-sending", state.way > 0);
}

async function run() {
  if (state.busy || !state.queue.size) return;
  state.busy = true;
  state.turn += 1;
  way(1);
  const [key, job] = state.queue.entries().next().value;
  state.queue.delete(key);
  state.sending = job.about?.name;
  try {
    const fields = job.based && job.based !== state.digest ? { ...job.fields, digest: job.based } : job.fields;
    const told = await post(job.way, fields);
    connected(true);
    await taken(told, job);
  } catch {
    connected(false);
    if (job.about && !state.queue.has(key)) state.queue.set(key, job); // kept, and sent when the server is back
    state.busy = false;
    way(-1);
    return;
  }
  state.busy = false;
  state.sending = undefined;
  run();
  way(-1);
}

/** What came of a change. */
function taken(told, job) {
  const { about } = job;
  const field = about?.closest(".field");
  field?.classList.remove("saving");
  if (!told.done) {
    if (about) state.sent.delete(about.name);
    if (told.conflict) return conflict(told.conflict);
    const problems = told.problems || [{ path: "", sentence: told.sentence || "This was not taken." }];
    for (const { path, sentence } of problems) blame(path || about?.name || "", sentence);
    if (problems.length) say(problems[0].sentence);
    return undefined;
  }
  if (about) delete about.based;
  clear_blame();
  note("");
  for (const words of told.words || []) note(words, "word");
  depth("undo", told.undo);
  depth("redo", told.redo);
  const here = new Set([...document.querySelectorAll("[data-group]")].map((element) => element.dataset.group));
  if (told.groups && (told.groups.length !== here.size || told.groups.some((group) => !here.has(group)))) {
    state.digest = told.digest;
    return anew();
  }
  for (const group of told.working) working(part(group));
  for (const [group, html] of Object.entries(told.parts)) paint(group, html);
  busy(told.working.length > 0);
  stand_at(told.digest);
  return undefined;
}

// ---- painting ----

function fragment(html) {
  const made = document.createElement("template");
  made.innerHTML = html; // of our own server, everything of the maker's escaped there
  return scripted(made.content.firstElementChild);
}

/** What stands there for pages without script would be loaded here. */
function scripted(root) {
  for (const element of root?.querySelectorAll("noscript") || []) element.remove();
  return root;
}

/** Put a group into its place: what is open stays open, what is being typed stays typed. */
function paint(group, html) {
  const old = part(group);
  const fresh = typeof html === "string" ? fragment(html) : html;
  if (!old || !fresh) return;
  keep_open(old, fresh);
  const typing = keep_typing(old, fresh);
  const before = old.querySelector("[data-picture]");
  const after = fresh.querySelector("[data-picture]");
  if (before && after && before.source) {
    before.dataset.kept = after.dataset.kept;
    after.replaceWith(before); // the old lines stay, dimmed by nothing, until the new ones are there
    swap(old, fresh);
    if (before.near) draw(before); else delete before.dataset.drawn;
  } else {
    swap(old, fresh);
    watch(fresh);
  }
  if (group === "findings") tell_findings(old, fresh);
  mark_fresh(old, fresh);
  typing?.();
}

function keep_open(old, fresh) {
  const olds = old.querySelectorAll("details");
  const news = fresh.querySelectorAll("details");
  if (olds.length && news.length && old.dataset.state !== "empty") news.forEach((element, i) => {
    const twin = element.id ? old.querySelector(`#${CSS.escape(element.id)}`) : olds[i];
    if (twin) element.open = twin.open;
  });
}

/** What is being typed, or was refused, goes along; and so does the focus with its caret. */
function keep_typing(old, fresh) {
  for (const input of old.querySelectorAll(".field input")) {
    const wrong = input.getAttribute("aria-invalid");
    if (!input.typing && !wrong && !state.queue.has(input.name) && state.sending !== input.name) continue;
    const again = fresh.querySelector(`[name="${CSS.escape(input.name)}"]`);
    if (!again) continue;
    Object.assign(again, { value: input.value, typing: input.typing, based: input.based });
    if (wrong && !again.hasAttribute("aria-invalid")) {
      again.setAttribute("aria-invalid", "true");
      again.setAttribute("aria-describedby", `p-${input.name}`);
      again.parentElement.append(input.parentElement.querySelector(".problem"));
    }
  }
  const focus = document.activeElement;
  if (!focus || !old.contains(focus)) return null;
  const twin = (name) => focus.getAttribute(name) && fresh.querySelector(`[${name}="${CSS.escape(focus.getAttribute(name))}"]`);
  const again = twin("id") || twin("name") || twin("href");
  if (!again) return null;
  const caret = focus.matches("input") ? [focus.selectionStart, focus.selectionEnd] : null;
  return () => {
    again.focus({ preventScroll: true });
    if (caret && again.setSelectionRange) again.setSelectionRange(...caret);
  };
}

/** Put one element in place of another. A field that is taken out of the page would say that it was changed. */
function swap(old, fresh) {
  state.painting = true;
  old.replaceWith(fresh);
  state.painting = false;
}

function mark_fresh(old, fresh) {
  const cells = (root) => [...root.querySelectorAll('a[href*="/why/"]')].map((link) => [link.getAttribute("href"), link.closest("tr > *").parentElement, link]);
  const value = ([, row, link]) => (link.querySelector("data") || row.querySelector("data"))?.textContent;
  const was = new Map(cells(old).map((cell) => [cell[0], value(cell)]));
  for (const cell of cells(fresh)) {
    if (was.has(cell[0]) && was.get(cell[0]) !== value(cell)) (cell[2].closest("td") || cell[1]).classList.add("fresh");
  }
}

function tell_findings(old, fresh) {
  const sentences = (root) => [...root.querySelectorAll(".sentence")].map((element) => element.textContent);
  const before = new Set(sentences(old));
  const added = sentences(fresh).filter((sentence) => !before.has(sentence));
  if (added.length) say(`New: ${added.slice(0, 2).join(" ")}`);
}

function working(element) {
  if (!element || element.dataset.state === "working") return;
  element.dataset.state = "working";
  element.setAttribute("aria-busy", "true");
  const words = Object.assign(document.createElement("p"), { className: "state" });
  words.append(Object.assign(document.createElement("span"), { className: "dots" }), "working this out");
  element.append(words);
}

let late = 0;
/** Progress and its Cancel, for what takes longer than half a second. */
function busy(yes) {
  clearTimeout(late);
  const bar = document.getElementById("work");
  if (!yes) bar.hidden = true;
  else late = setTimeout(() => { bar.hidden = !document.querySelector('[data-state="working"]'); }, 500);
}

function depth(step, many) {
  const button = document.querySelector(`[data-step="${step}"] button`);
  if (button) button.disabled = !many;
}

/** Everything from the server again: parts that came or went, or what somebody else did. */
async function anew() {
  const stop = (state.anew = Symbol("newest"));
  const turn = state.turn;
  const address = state.compare ? `${base}?compare=${state.compare}` : base;
  const answer = await fetch(address);
  const text = await answer.text();
  if (!answer.ok || state.anew !== stop) return;
  if (turn !== state.turn) return anew_soon(); // a change went out meanwhile: this page is older than what comes of it
  state.sent.clear();
  const page = scripted(new DOMParser().parseFromString(text, "text/html"));
  const told = JSON.parse(page.getElementById("board").textContent);
  const groups = (root) => [...root.querySelectorAll("[data-group]")].map((element) => element.dataset.group);
  if (groups(document).join() === groups(page).join()) {
    for (const fresh of page.querySelectorAll("[data-group]")) {
      const old = part(fresh.dataset.group);
      if (fresh.dataset.state === "working") working(old);
      else paint(fresh.dataset.group, document.importNode(fresh, true));
    }
  } else {
    const chosen = document.querySelector('[name="which"]:checked')?.value;
    const fresh = document.importNode(page.querySelector(".desk"), true);
    keep_open(document.querySelector(".desk"), fresh);
    const typing = keep_typing(document.querySelector(".desk"), fresh);
    swap(document.querySelector(".desk"), fresh);
    for (const radio of document.querySelectorAll('[name="which"]')) if (radio.value === chosen) radio.checked = true;
    watch(fresh);
    typing?.();
  }
  document.getElementById("notices").innerHTML = page.getElementById("notices").innerHTML;
  document.querySelector(".set-title").textContent = page.querySelector(".set-title").textContent;
  stand_at(told.digest);
  for (const step of ["undo", "redo"]) depth(step, !page.querySelector(`[data-step="${step}"] button`).disabled);
  busy(Boolean(document.querySelector('[data-state="working"]')));
  return undefined;
}

// ---- words at fields and at the head ----

function blame(path, sentence) {
  const input = path && document.querySelector(`.field [name="${CSS.escape(path)}"]`);
  if (!input) return note(sentence, "problem");
  const id = `p-${path}`;
  input.setAttribute("aria-invalid", "true");
  input.setAttribute("aria-describedby", id);
  const words = document.getElementById(id) || input.parentElement.appendChild(Object.assign(document.createElement("small"), { className: "problem", id }));
  words.textContent = `${sentence} The set stays as it was.`;
  for (let box = input.closest("details"); box; box = box.parentElement.closest("details")) box.open = true;
  return undefined;
}

function clear_blame() {
  for (const input of document.querySelectorAll(".field [aria-invalid]")) {
    input.removeAttribute("aria-invalid");
    input.parentElement.querySelector(".problem")?.remove();
  }
}

function note(sentence, kind = "problem") {
  const place = document.getElementById("notices");
  if (!sentence) return place.replaceChildren();
  const line = Object.assign(document.createElement("p"), { className: `notice notice-${kind}`, textContent: sentence });
  return place.replaceChildren(line);
}

function connected(yes) {
  if (yes === !state.off) return;
  state.off = !yes;
  if (!yes) note("The workbench does not answer. What you typed waits here; start it again with lodestring open, and load this page.", "problem");
  else note("");
}

// ---- both texts ----

function conflict({ mine, theirs, digest }) {
  const box = document.getElementById("conflict");
  const lines = [mine.split("\n"), theirs.split("\n")];
  const [a, b] = lines;
  let head = 0, tail = 0;
  while (head < Math.min(a.length, b.length) && a[head] === b[head]) head += 1;
  while (tail < Math.min(a.length, b.length) - head && a[a.length - 1 - tail] === b[b.length - 1 - tail]) tail += 1;
  box.showModal();
  for (const [i, place] of [...box.querySelectorAll("pre")].entries()) {
    const own = lines[i];
    place.replaceChildren(...own.map((line, at) => Object.assign(document.createElement("span"), { textContent: `${line}\n`, className: at >= head && at < own.length - tail ? "differs" : "" })));
    const first = place.querySelector(".differs");
    if (first) place.scrollTop = first.offsetTop - place.offsetTop - place.clientHeight / 3;
  }
  state.queue.clear();
  box.onclick = ({ target }) => {
    const take = target.dataset?.take;
    if (!take) return;
    box.close();
    for (const input of document.querySelectorAll("input")) { delete input.based; input.typing = false; }
    if (take === "mine") { state.digest = digest; send("text", { text: mine }); }
    anew_soon();
  };
  box.oncancel = () => anew_soon();
}

function anew_soon() {
  clearInterval(state.soon);
  state.soon = setInterval(() => {
    if (state.busy || state.queue.size) return;
    clearInterval(state.soon);
    anew().catch(() => connected(false));
  }, 50);
}

// ---- what the maker does ----

document.addEventListener("input", ({ target }) => { if (target.closest(".field")) { target.typing = true; target.closest(".field").querySelector(".also")?.remove(); } });
document.addEventListener("change", ({ target }) => enter(target));
document.addEventListener("focusout", ({ target }) => { if (target.typing) enter(target); });

/** What a field says is sent; Enter, and leaving the field after it, is one change. */
function enter(target) {
  if (state.painting || !target.name || !target.closest(".field")) return;
  target.typing = false;
  clearTimeout(target.later);
  if (state.sent.get(target.name) === target.value) return;
  state.sent.set(target.name, target.value);
  send("change", { path: target.name, typed: target.value }, target);
}

document.addEventListener("submit", (event) => {
  const form = event.target;
  if (form.dataset.step) { event.preventDefault(); send(form.dataset.step, {}); return; }
  if (form.id === "work") { event.preventDefault(); post("cancel", {}).catch(() => connected(false)); return; }
  if (form.matches(".fields")) {
    event.preventDefault();
    const { name, value } = event.submitter || {};
    if (name) send("change", { [name]: value });
  } else if (form.matches("[data-plain-change]")) {
    event.preventDefault();
    const { digest, compare, ...fields } = Object.fromEntries(new FormData(form));
    send("change", fields);
  }
});
document.addEventListener("keydown", (event) => {
  const { target } = event;
  if (event.key === "Enter" && target.matches?.(".field input")) {
    event.preventDefault();
    if (target.typing) enter(target);
  } else if (event.key === "Escape" && target.matches?.(".field input")) {
    target.value = target.defaultValue;
    target.typing = false;
  } else if (steps(event)) {
    target.typing = true;
    clearTimeout(target.later);
    target.later = setTimeout(() => enter(target), 120);
  } else if ((event.ctrlKey || event.metaKey) && !event.altKey && event.key.toLowerCase() === "z" && !target.typing && !target.matches?.("textarea")) {
    event.preventDefault();
    send(event.shiftKey ? "redo" : "undo", {});
  } else if ((event.ctrlKey || event.metaKey) && event.key.toLowerCase() === "y" && !target.typing) {
    event.preventDefault();
    send("redo", {});
  }
});
document.addEventListener("focusin", ({ target }) => {
  const hint = document.getElementById("hint");
  if (!target.matches(".field input, .field select")) return;
  hint.textContent = target.title;
  if (!target.typing) target.based = undefined;
});
document.addEventListener("click", async (event) => {
  const link = event.target.closest?.('a[href*="/why/"]');
  for (const menu of document.querySelectorAll(".menu[open]")) if (!menu.contains(event.target)) menu.open = false;
  if (!link || event.ctrlKey || event.metaKey || event.shiftKey) return;
  event.preventDefault();
  const box = document.getElementById("why");
  const close = Object.assign(document.createElement("button"), { textContent: "Close", className: "quiet close" });
  close.onclick = () => box.close();
  box.replaceChildren(close, Object.assign(document.createElement("p"), { textContent: "Running the model at both ends of each input" }));
  box.showModal();
  try {
    const answer = await fetch(link.href);
    const page = new DOMParser().parseFromString(await answer.text(), "text/html");
    const told = page.querySelector(".reason") && page.querySelector("article.reason") || page.querySelector("main");
    box.replaceChildren(close, document.importNode(told, true));
    close.focus();
  } catch {
    box.lastChild.textContent = "The workbench does not answer.";
  }
});
/** From a note or a measurement to the value it is about: the field itself, else the nearest group above it. */
document.addEventListener("click", (event) => {
  const path = event.target.closest?.("[data-go]")?.dataset.go;
  if (!path) return;
  for (let at = path; at; at = at.includes(".") ? at.slice(0, at.lastIndexOf(".")) : "") {
    const field = document.querySelector(`.field [name="${CSS.escape(at)}"]`) || document.querySelector(`[id="part-fields.${CSS.escape(at)}"] .field > :is(input, select)`);
    if (!field) continue;
    event.preventDefault();
    const radio = document.getElementById(`which-${field.closest(".part").dataset.of}`);
    if (radio) radio.checked = true;
    for (let box = field.closest("details"); box; box = box.parentElement.closest("details")) box.open = true;
    field.focus();
    field.scrollIntoView({ block: "center" });
    return;
  }
});
document.getElementById("why").addEventListener("click", ({ target, currentTarget }) => { if (target === currentTarget) currentTarget.close(); });
document.addEventListener("change", ({ target }) => {
  if (target.name === "which") sessionStorage.setItem(`which ${state.set}`, target.value);
});

// ---- news ----

function listen(tries = 0) {
  const socket = new WebSocket(`ws://${location.host}${island.push}`);
  socket.onopen = () => { tries = 0; connected(true); };
  socket.onmessage = ({ data }) => heard(JSON.parse(data)).catch(() => connected(false));
  socket.onclose = ({ code }) => {
    if (code === 4013) return;
    if (tries > 0) connected(false);
    setTimeout(() => listen(tries + 1), Math.min(500 * 2 ** tries, 10000));
    if (code === 4008) anew().catch(() => connected(false));
  };
}

async function heard({ digest, group, state: how }) {
  if (how === "units") return anew_soon(); // the same set, said in other units
  if (how === "changed" || how === "here") {
    // What got ready between the page and this first word was told to nobody.
    const behind = how === "here" && document.querySelector('[data-state="working"]');
    if ((digest === state.digest && !behind) || state.busy || state.queue.size) return;
    // A field that is being typed into stays based on what its maker saw.
    for (const input of document.querySelectorAll(".field input")) if (input.typing) input.based ??= state.digest;
    const other = digest !== state.digest;
    await anew();
    if (other) note("The set was changed by another page or program; this page shows it as it is now.", "word");
    return;
  }
  if (digest !== state.digest) {
    state.early = [...state.early.slice(-99), { digest, group, state: how }]; // may be of the state that is on its way here
    return;
  }
  if (how === "working") { working(part(group)); busy(true); return; }
  const address = `${base}/part/${group}` + (state.compare ? `?compare=${state.compare}` : "");
  const answer = await fetch(address);
  const html = await answer.text();
  // Painted only if it is of the state that the page stands at now: an older result never comes last.
  if (answer.ok && answer.headers.get("x-digest") === state.digest && answer.headers.get("x-state") !== "working") paint(group, html);
  busy(Boolean(document.querySelector('[data-state="working"]')));
}

/** The page stands at another state: what was told of that before is heard now. */
function stand_at(digest) {
  state.digest = digest;
  const told = state.early;
  state.early = [];
  queueMicrotask(() => told.filter((news) => news.digest === digest).forEach((news) => heard(news).catch(() => connected(false))));
}

const chosen = sessionStorage.getItem(`which ${state.set}`);
for (const radio of document.querySelectorAll('[name="which"]')) if (radio.value === chosen) radio.checked = true;
watch(document);
busy(Boolean(document.querySelector('[data-state="working"]')));
listen();
export { put };
