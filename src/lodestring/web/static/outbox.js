// What this device has counted: one key of localStorage a press, written before anything is shown or sent, and kept until
// the coil is closed, acknowledged or not. Delivered twice it counts once: the book knows each press by its id.

const hex = (bytes) => [...crypto.getRandomValues(new Uint8Array(bytes))].map((b) => b.toString(16).padStart(2, "0")).join("");
const PREFIX = "lodestring:";

/** Names this page: the same after a reload, another one for a second page. */
export function device_name() {
  const mine = `${hex(4)}`;
  const fresh = () => `page-${hex(4)}`;
  let name = sessionStorage.getItem(`${PREFIX}device`) || fresh();
  const beat = (of) => JSON.parse(localStorage.getItem(`${PREFIX}alive:${of}`) || "null");
  const other = beat(name);
  if (other && other.who !== mine && Date.now() - other.at < 3000 && !reloaded()) name = fresh(); // a copied tab
  sessionStorage.setItem(`${PREFIX}device`, name);
  const live = () => { try { localStorage.setItem(`${PREFIX}alive:${name}`, JSON.stringify({ who: mine, at: Date.now() })); } catch { /* full: presses matter more */ } };
  live();
  setInterval(live, 1000);
  addEventListener("pageshow", live);
  addEventListener("pagehide", () => localStorage.removeItem(`${PREFIX}alive:${name}`)); // the next page of this tab goes on
  return name;
}

const reloaded = () => performance.getEntriesByType("navigation")[0]?.type === "reload";

export class Outbox {
  /** `serial`: the coil; `device`: this page; `lamport`: the highest number seen. */
  constructor(serial, device, lamport) {
    this.serial = serial;
    this.device = device;
    this.lamport = lamport;
    this.memory = new Map(); // what storage would not take: better than nothing, and said
    this.full = false;
    this.n = 0;
    for (const { event } of this.all()) {
      if (event.device === device) this.n = Math.max(this.n, event.n);
      this.lamport = Math.max(this.lamport, event.lamport);
    }
  }

  key(id) { return `${PREFIX}${this.serial}:${id}`; }

  /** All events of this coil that this browser holds, of this page and of earlier ones. */
  all() {
    const made = [];
    const start = this.key("");
    for (let i = 0; i < localStorage.length; i += 1) {
      const key = localStorage.key(i);
      if (!key.startsWith(start)) continue;
      try {
        const { sent, ...event } = JSON.parse(localStorage.getItem(key));
        made.push({ key, sent: Boolean(sent), event: { v: 1, coil: this.serial, ...event } });
      } catch { /* not ours */ }
    }
    for (const [key, { sent, event }] of this.memory) made.push({ key, sent, event });
    return made.sort((a, b) => a.event.lamport - b.event.lamport || a.event.n - b.event.n);
  }

  /** Write an event down; true when it is in storage, false when only in memory. */
  put(kind, body) {
    this.n += 1;
    this.lamport += 1;
    const event = { id: hex(16), device: this.device, n: this.n, lamport: this.lamport, at: new Date().toISOString(), kind, body };
    this.write(this.key(event.id), { sent: 0, ...event });
    return event;
  }

  write(key, stored) {
    try {
      localStorage.setItem(key, JSON.stringify(stored));
      this.memory.delete(key);
      this.full = false;
      return true;
    } catch {
      const { sent, ...event } = stored;
      this.memory.set(key, { sent: Boolean(sent), event: { v: 1, coil: this.serial, ...event } });
      this.full = true;
      return false;
    }
  }

  mark(ids, sent) {
    const wanted = new Set(ids);
    for (const item of this.all()) {
      if (!wanted.has(item.event.id) || item.sent === sent) continue;
      const { v, coil, ...event } = item.event;
      this.write(item.key, { sent: sent ? 1 : 0, ...event });
    }
  }

  waiting() { return this.all().filter((item) => !item.sent).map((item) => item.event); }

  /** The highest number of each device whose presses are here: the book then asks for what it lacks. */
  holds() {
    const made = {};
    for (const { event } of this.all()) made[event.device] = Math.max(made[event.device] || 0, event.n);
    return made;
  }

  /** The book lacks these numbers of a device (a log that was cut): send them again. */
  again(wants) {
    for (const [device, numbers] of Object.entries(wants)) {
      const set = new Set(numbers);
      this.mark(this.all().filter(({ event }) => event.device === device && set.has(event.n)).map(({ event }) => event.id), false);
    }
  }

  /** The coil is closed and everything is in the book: nothing has to be held any longer. */
  clear() {
    if (this.waiting().length) return;
    for (const { key } of this.all()) localStorage.removeItem(key);
    this.memory.clear();
  }
}
