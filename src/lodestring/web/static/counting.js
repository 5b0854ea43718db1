// Ways of counting: keys and pedals, a sensor that types, the learned key. Each calls back with presses or turns.

const MORE = ["Space", "Enter", "NumpadEnter", "ArrowRight", "ArrowUp", "PageDown"];
const LESS = ["ArrowLeft", "ArrowDown", "PageUp", "Backspace"];
const LEARNED = "lodestring:key";
const BETWEEN = 250; // ms between two characters of a sensor that types; a hand is slower over a whole line

const typing = (element) => element?.closest?.("input, textarea, select, [contenteditable]");

/** `on.press(+1 | -1)`, `on.line(total, start)`; returns how to learn a key. */
export function listen(on) {
  let learning = null;
  let line = "";
  let last = 0;
  addEventListener("keydown", (event) => {
    if (learning) {
      event.preventDefault();
      localStorage.setItem(LEARNED, event.code || event.key);
      learning(event.code || event.key);
      learning = null;
      return;
    }
    if (typing(event.target) || event.ctrlKey || event.metaKey || event.altKey) return;
    if (event.timeStamp - last > BETWEEN) line = "";
    last = event.timeStamp;
    if (event.key.length === 1 && (line || event.key === "n")) {
      line += event.key;
      if (/^n( (\d{0,9}( [0-9a-z]{0,16})?)?)?$/.test(line)) {
        event.preventDefault();
        return;
      }
      line = "";
    }
    const told = event.key === "Enter" && /^n (\d{1,9}) ([0-9a-z]{1,16})$/.exec(line);
    line = "";
    if (told) {
      event.preventDefault();
      on.line(Number(told[1]), told[2]);
      return;
    }
    const code = event.code || event.key;
    const mine = localStorage.getItem(LEARNED);
    const way = code === mine || MORE.includes(code) ? 1 : LESS.includes(code) ? -1 : 0;
    if (!way) return;
    const pressed = event.target?.closest?.("button, a, summary, label");
    if (pressed && pressed.id !== "press" && code !== mine && (code === "Space" || code.endsWith("Enter"))) return;
    event.preventDefault();
    if (!event.repeat) on.press(way);
  });
  return {
    learn: (told) => { learning = told; },
    learned: () => localStorage.getItem(LEARNED),
  };
}

/** Turns a sensor's running totals into turns. The first total it ever told is where counting starts. */
export class Sensor {
  constructor(serial, flush) {
    this.key = `lodestring:sensor:${serial}`;
    this.flush = flush;
    this.gathered = 0;
    this.timer = 0;
    this.now = null;
  }

  line(total, start) {
    const before = this.now || JSON.parse(localStorage.getItem(this.key) || "null");
    if (before === null) {
      this.keep({ total, start });
      return "first";
    }
    const turns = before.start === start ? total - before.total : total;
    this.now = { total, start };
    if (!turns) return "same";
    this.gathered += turns;
    this.timer ||= setTimeout(() => this.write(), 200); // a fast winder tells thirty lines a second
    return "counted";
  }

  write() {
    this.timer = 0;
    const turns = this.gathered;
    this.gathered = 0;
    if (turns) this.flush(turns, this.now);
    this.keep(this.now);
  }

  keep(state) {
    this.now = state;
    try { localStorage.setItem(this.key, JSON.stringify(state)); } catch { /* the next total tells the same */ }
  }
}
