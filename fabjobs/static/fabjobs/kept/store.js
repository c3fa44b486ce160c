// Where taps are kept until they are sent: in the browser's own storage, an entry each, so that two tabs that write at the
// same moment lose nothing of each other. Where a browser keeps nothing (a private window, a full disk), they stand in
// this page's memory for one try.

const TAP = "fabjobs.tap."; // + person . key of the tap
const TOLD = "fabjobs.told."; // the same, of a tap that did not count, until it is dismissed
const SENDER = "fabjobs.sender"; // which tab sends, and until when
const LAST = "fabjobs.last."; // + person: the taps that were taken last
const PROBE = "fabjobs.probe"; // whether anything can be written
export const MOST = 200; // taps of one person that wait at a time
const HELD = 15_000; // [ms] how long a tab is taken to be sending when nothing more is heard of it

export const person = document.body.dataset.person ?? "";
export const who = document.body.dataset.who ?? "";
const memory = new Map();

const drive = (work, without) => {
  try {
    return work(window.localStorage);
  } catch {
    return without;
  }
};
const read = (name) => memory.get(name) ?? drive((disk) => disk.getItem(name), null);
const remove = (name) => {
  memory.delete(name);
  drive((disk) => disk.removeItem(name));
};
const write = (name, value) => {
  const kept = drive((disk) => (disk.setItem(name, value), true), false);
  if (kept) memory.delete(name);
  else memory.set(name, value);
  return kept;
};
const names = (prefix) => {
  const onDisk = drive((disk) => Array.from({ length: disk.length }, (_, place) => disk.key(place)), []);
  return [...onDisk, ...memory.keys()].filter((name) => name?.startsWith(prefix));
};
const parsed = (name) => {
  try {
    return JSON.parse(read(name));
  } catch {
    return remove(name), null; // none of ours
  }
};
const all = (prefix) => names(prefix).map(parsed).filter(Boolean).sort((a, b) => a.turn - b.turn || a.at - b.at || (a.key < b.key ? -1 : 1));

const tapName = (tap) => `${TAP}${person}.${tap.key}`;
export const isTap = (name) => Boolean(person) && name?.startsWith(`${TAP}${person}.`);
export const isTold = (name) => Boolean(person) && name?.startsWith(`${TOLD}${person}.`);
export const queue = () => (person ? all(`${TAP}${person}.`) : []);
export const isKept = (tap) => read(tapName(tap)) !== null;
export const isLasting = (tap) => !memory.has(tapName(tap));
export const isLastingNow = () => drive((disk) => (disk.setItem(PROBE, ""), disk.removeItem(PROBE), true), false);
export const keep = (tap) => write(tapName(tap), JSON.stringify(tap));
export const forget = (tap) => remove(tapName(tap));
export const nextTurn = () => 1 + Math.max(0, ...queue().map((tap) => tap.turn));

export const told = () => (person ? all(`${TOLD}${person}.`) : []);
export const tell = (tap, text) => {
  const note = tap.fields.find(([name]) => name === "text")?.[1];
  write(`${TOLD}${person}.${tap.key}`, JSON.stringify({ ...tap, fields: [], text, note }));
};
export const dismiss = (tap) => remove(`${TOLD}${person}.${tap.key}`);

// A page that was on its way while a tap was taken may show the step as it was before.
const RECENT = 60_000; // [ms]
const lastTaken = () => parsed(LAST + person) ?? [];
export const noteTaken = (tap) => {
  const recent = lastTaken().filter((one) => Date.now() - one.taken < RECENT);
  write(LAST + person, JSON.stringify([...recent, { ...tap, fields: [], taken: Date.now() }]));
};
export const takenSince = (moment) => lastTaken().filter((tap) => tap.taken > moment);

// Taps of others who use this device: by name, how many. They are sent when those sign in, never before.
export const ofOthers = () => {
  const counted = new Map();
  for (const name of names(TAP)) {
    if (isTap(name)) continue;
    const whose = parsed(name)?.who;
    if (whose) counted.set(whose, (counted.get(whose) ?? 0) + 1);
  }
  return counted;
};

// One tab sends at a time. Two that do so all the same do no harm: the shop takes a tap by its key once.
const tab = Math.random().toString(36).slice(2);
export const hold = () => {
  const [other, until] = (read(SENDER) ?? "").split(" ");
  const left = Number(until) - Date.now();
  if (other && other !== tab && left > 0 && left <= HELD) return false;
  write(SENDER, `${tab} ${Date.now() + HELD}`);
  return true;
};
export const letGo = () => {
  if (read(SENDER)?.startsWith(`${tab} `)) remove(SENDER);
};
export const isLetGo = (event) => event.key === SENDER && event.newValue === null;
