// The five questions: a ready list fills the box below it, a title suggests the name of the file.

const ready = document.getElementById("q-ready");
const strings = document.getElementById("q-strings");
const kind = document.getElementById("q-kind");
ready?.addEventListener("change", () => {
  const chosen = ready.selectedOptions[0];
  if (!chosen?.dataset.lines) return;
  strings.value = chosen.dataset.lines;
  strings.rows = Math.max(4, chosen.dataset.lines.split("\n").length);
  kind.value = chosen.dataset.kind;
});

const title = document.getElementById("q-title");
const name = document.getElementById("q-name");
let own = Boolean(name?.value);
name?.addEventListener("input", () => { own = Boolean(name.value); });
title?.addEventListener("input", () => {
  if (own) return;
  name.value = title.value.toLowerCase().normalize("NFD").replace(/[^a-z0-9]+/g, "-").replace(/^[^a-z]+|-+$/g, "").slice(0, 32);
});
document.querySelector("[aria-invalid]")?.focus();
