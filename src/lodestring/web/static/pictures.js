// Pictures: asked for at the width they have on the page, put in as elements so that the style sheet reaches them.

import { readable } from "./readout.js";

const waiting = new WeakMap();

/** Ask for the picture of a place anew. An answer that has been overtaken is dropped. */
export async function draw(place) {
  const width = Math.round(place.clientWidth);
  if (!width || !place.isConnected) return; // not shown now: asked for when it is
  const kept = place.dataset.kept || "";
  const query = new URLSearchParams({ width, ...(kept && { compare: kept }) });
  waiting.get(place)?.abort();
  const stop = new AbortController();
  waiting.set(place, stop);
  try {
    const answer = await fetch(`${place.dataset.picture}?${query}`, { signal: stop.signal, headers: { accept: "image/svg+xml" } });
    if (!answer.ok) throw new Error(String(answer.status));
    put(place, await answer.text(), width);
  } catch (fault) {
    if (fault.name !== "AbortError" && !place.querySelector("svg")) place.textContent = "";
  }
}

/** Put SVG text of our own server into its place, unless it is there already. */
export function put(place, text, width) {
  if (place.dataset.drawn !== String(width) || place.source !== text) {
    place.source = text;
    place.dataset.drawn = String(width);
    const made = new DOMParser().parseFromString(text, "image/svg+xml").documentElement;
    if (made.nodeName !== "svg") return;
    place.replaceChildren(document.importNode(made, true));
  }
  if (place.querySelector(".pic-plot")) readable(place);
  else if (place.closest(".paper")) to_one_scale(place.closest(".paper"));
}

/** Top view and section lie on the sheet in one scale, and say which. */
function to_one_scale(paper) {
  const size = (svg) => svg.viewBox.baseVal;
  const shown = (view) => [...paper.querySelectorAll(`[id^="part-picture.${view}."] svg`)].filter((svg) => svg.closest(".part").offsetParent);
  const [top] = shown("top");
  if (!top) return;
  const room = top.closest(".picture").clientWidth;
  // As large as there is room for, but never below life size: then the drawing is pushed about under a finger.
  const scale = Math.max(96 / 25.4, Math.min(room / size(top).width, (0.46 * innerHeight) / size(top).height));
  for (const svg of [top, ...shown("section")]) {
    svg.style.width = `${size(svg).width * scale}px`;
    const place = svg.parentElement;
    if (size(svg).width * scale > room + 1) Object.assign(place, { tabIndex: 0, role: "group", ariaLabel: svg.querySelector("title").textContent });
    else place.removeAttribute("tabindex");
    const caption = svg.closest("figure").querySelector("figcaption");
    const words = caption.querySelector(".scale") || caption.firstElementChild.appendChild(Object.assign(document.createElement("span"), { className: "scale" }));
    words.textContent = `${(scale * 25.4 / 96).toFixed(1)} : 1`;
  }
}

const seen = new ResizeObserver((entries) => {
  for (const { target } of entries) {
    const width = Math.round(target.clientWidth);
    if (width && target.near && Math.abs(width - Number(target.dataset.drawn || 0)) > 2) draw(target);
  }
});

document.addEventListener("change", ({ target }) => {
  if (target.name === "which") for (const place of document.querySelectorAll(".paper [data-picture]")) if (place.dataset.drawn) put(place, place.source, Number(place.dataset.drawn));
});

const near = new IntersectionObserver((entries) => {
  for (const { target, isIntersecting } of entries) {
    target.near = isIntersecting;
    if (isIntersecting && !target.dataset.drawn) draw(target);
  }
}, { rootMargin: "400px" });

/** Look after every picture inside `root`: drawn when it comes near, again when its width changes. */
export function watch(root) {
  for (const place of root.querySelectorAll("[data-picture]")) {
    seen.observe(place);
    near.observe(place);
  }
}
