// What a tap on a form marked data-keep means, given what waits already: data-keep says in words what it is of, the form's
// address whether it ticks a step, starts a timer or stops one; a form that stops one has data-start, where to start it.

import * as store from "./store.js";

const DOUBLE = 400; // [ms]
export const SOON = 1000; // [ms] a tap not answered by then is shown as waiting

const pathOf = (address) => new URL(address, location.href).pathname;
const STEP = /\/steps\/(\d+)\/(tick|timer)$/;

// The form or button of a page that keeps its taps: where it sends them, what kind they are, of which step.
export const meaning = (marked) => {
  const form = marked.form ?? marked;
  const button = marked.form ? marked : form.querySelector("button");
  const url = pathOf(marked.getAttribute("formaction") ?? form.getAttribute("action"));
  const start = marked.dataset.start ? pathOf(marked.dataset.start) : url;
  const [, step = "", kind = "other"] = start.match(STEP) ?? [];
  const isTimer = kind === "timer";
  const runs = isTimer && start !== url;
  return { marked, form, button, url, start, step, kind, isTimer, runs, saysStop: isTimer && (marked.dataset.says ?? String(runs)) === "true" };
};
export const marks = () => [...document.querySelectorAll("[data-keep]")].map(meaning);

// What was sent, but is not yet shown as sent by the page, which has to be fetched anew: the next tap follows it all the same.
let sent = [];
export const toShow = () => sent;
export const sentUnshown = (tap) => (sent = [...sent.filter((each) => each.key !== tap.key), { ...tap, isSent: true }]);
export const shownNow = (taps) => (sent = sent.filter((tap) => !taps.includes(tap)));

export const lastTick = (taps, step) => taps.findLast((tap) => tap.kind === "tick" && tap.step === step);
export const lastTimer = (taps) => taps.findLast((tap) => tap.kind === "start" || tap.kind === "stop");

// A key as the shop's own forms have it. crypto.randomUUID is kept from pages that come over plain http.
const newKey = () => {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  bytes[6] = (bytes[6] & 0x0f) | 0x40;
  bytes[8] = (bytes[8] & 0x3f) | 0x80;
  return Array.from(bytes, (byte) => byte.toString(16).padStart(2, "0")).join("").replace(/^(.{8})(.{4})(.{4})(.{4})/, "$1-$2-$3-$4-");
};

const ticked = (sent, before) => {
  if (!before) return { done: sent.get("done") === "1" };
  sent.set("done", before.done ? "0" : "1");
  sent.set("version", Number(before.version) + 1); // as it will be, if nobody else comes between; else the shop refuses it
  return { done: !before.done, after: before.key };
};

// A stop that follows a start still waiting has no address yet: the answer to the start says where to stop it.
const timed = ({ url, start, step, runs, saysStop }, before) => {
  const starts = before?.kind === "start" && before.step === step;
  if (starts) return { kind: "stop", url: before.stopAt ?? "", after: before.key };
  if (saysStop && runs) return { kind: "stop", url };
  return { kind: "start", url: start };
};

const used = new Set(); // keys of forms: one that still stands on the page after its tap counted makes another tap
export const tapOf = (mark) => {
  const taps = [...toShow(), ...store.queue()];
  const sent = new URLSearchParams(new FormData(mark.form));
  sent.delete("csrfmiddlewaretoken"); // it may be out of date by then
  const before = mark.isTimer ? lastTimer(taps) : lastTick(taps, mark.step);
  const own = { kind: mark.kind, url: mark.url };
  if (mark.isTimer) Object.assign(own, timed(mark, before));
  else if (mark.kind === "tick") Object.assign(own, ticked(sent, before), { version: sent.get("version") });
  const formKey = sent.get("form_key");
  const key = before || !formKey || used.has(formKey) ? newKey() : formKey;
  used.add(key);
  sent.set("form_key", key);
  const about = { of: mark.marked.dataset.keep, step: mark.step, start: mark.start, who: store.who };
  return { key, turn: store.nextTurn(), at: Date.now(), fields: [...sent], ...about, ...own };
};

// A double click, or two fingers of one hand that come down together, are one tap.
let touched = { name: "", at: -Infinity };
export const isDouble = (click, { kind, step }) => {
  const now = { name: `${kind} ${step}`, at: click.timeStamp };
  const again = click.detail > 1 || (click.pointerType === "touch" && now.name === touched.name && now.at - touched.at < DOUBLE);
  touched = now;
  return again;
};

export const isOf = (mark) => (tap) =>
  tap.kind === "other" || mark.kind === "other" ? tap.url === mark.url : tap.step === mark.step && (tap.kind === "tick") === !mark.isTimer;

export const following = (tap, taps) => {
  const gone = new Set([tap.key]);
  return taps.filter((later) => gone.has(later.after) && gone.add(later.key));
};

const DID = { start: "timer started", stop: "timer stopped", other: "sent" };
export const did = (tap) => DID[tap.kind] ?? (tap.done ? "ticked" : "tick taken back");
export const clock = (at) => {
  const time = new Date(at).toLocaleTimeString([], { hour: "2-digit", minute: "2-digit", hour12: false });
  return new Date(at).toDateString() === new Date().toDateString() ? time : `${time} on ${new Date(at).toLocaleDateString()}`;
};
