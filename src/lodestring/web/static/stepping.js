// Turning a value with the arrow keys: the number before the unit goes up or down by its last figure.

const NUMBER = /^(\s*[^\d+\-.]*)([+-]?\d+(?:\.\d+)?)(?![\d/]|\s+\d+\/)(.*)$/;

/** Take an arrow key in a field; true if the value was turned. Shift: ten times finer. */
export function steps(event) {
  const input = event.target;
  const way = { ArrowUp: 1, ArrowDown: -1 }[event.key];
  if (!way || event.ctrlKey || event.altKey || event.metaKey || !input.matches?.(".field input:not([list])")) return false;
  const found = NUMBER.exec(input.value || input.placeholder);
  if (!found) return false;
  event.preventDefault();
  const [, before, number, after] = found;
  const decimals = (number.split(".")[1] || "").length;
  let step = 10 ** -decimals;
  if (!decimals && Math.abs(Number(number)) >= 1000) step = 100;
  else if (!decimals && Math.abs(Number(number)) >= 200) step = 10;
  const finer = event.shiftKey && (decimals || step > 1);
  if (finer) step /= 10;
  const places = step < 1 ? Math.max(decimals, Math.round(-Math.log10(step))) : 0;
  input.value = before + (Number(number) + way * step).toFixed(places) + after;
  return true;
}
