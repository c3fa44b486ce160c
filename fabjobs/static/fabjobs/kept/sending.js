// Sends what is kept: in the order it was tapped, one at a time, each until the shop has said what became of it. The shop
// takes a tap by its key once, so one whose answer was lost is simply sent again.

import * as store from "./store.js";
import { following } from "./taps.js";

const PATIENCE = 8000; // [ms] an answer that has not come by then is taken as lost
const FIRST_WAIT = 2000;
const LONGEST_WAIT = 30_000;
const KEPT = 2; // [s] a tap sent within this counts from when it arrives
const NOT_SENT = "Not sent, since it followed a tap that did not count.";
const NOT_KEPT = "Not sent: the shop's computer does not answer, and this browser keeps nothing (a private window, or a full disk). Tap again when the network is back.";

// why: what taps wait for: "", "network", "server", "sign-in"; signIn: where to
export const state = { why: "", signIn: "" };
const heard = { taken() {}, refused() {}, signedOut() {}, unanswered() {}, changed() {} };
export const hear = (ears) => Object.assign(heard, ears);

let sending = false;
let retry = 0;
let wait = FIRST_WAIT;

// The page's own token is out of date once someone signed in again in another tab; the cookie never is.
const token = () =>
  document.cookie.match(/(?:^|; )csrftoken=([^;]+)/)?.[1] ?? document.querySelector("[name=csrfmiddlewaretoken]")?.value ?? "";

export const within = (limit) => {
  const stop = new AbortController();
  const timer = setTimeout(() => stop.abort(), limit);
  return { signal: stop.signal, done: () => clearTimeout(timer) };
};

const post = async (tap) => {
  const body = new URLSearchParams(tap.fields);
  const ago = (Date.now() - tap.at) / 1000; // by the difference, so that a clock that is set wrong does no harm
  if (ago > KEPT) body.set("ago", ago.toFixed(3));
  const headers = { "Tap-By": store.person, "X-CSRFToken": token(), "HX-Request": "true", "HX-Current-URL": location.href };
  const limit = within(PATIENCE);
  try {
    const answer = await fetch(tap.url, { method: "POST", body, headers, signal: limit.signal });
    const said = (name) => answer.headers.get(name);
    const ways = { became: said("Tap"), to: said("HX-Redirect"), anew: said("HX-Refresh") === "true" };
    return { status: answer.status, text: await answer.text(), ...ways };
  } catch {
    return { status: 0 };
  } finally {
    limit.done();
  }
};

const page = (text) => new DOMParser().parseFromString(text, "text/html");
const wordsOf = (answer) => {
  const told = page(answer.text);
  const found = told.querySelector(".told") ?? told.querySelector("main p") ?? told.body;
  return found.textContent.trim() || `The shop's computer refused it (${answer.status}).`;
};

// Where to stop the timer that runs now, by the bar of an answer or a page, if it is the one of that step.
const stopAddress = (text, start) => {
  const form = page(text).querySelector("#timer form");
  return form?.dataset.start === start ? form.getAttribute("action") : "";
};

const drop = (tap, text) => {
  const later = following(tap, store.queue());
  if (text) store.tell(tap, text);
  for (const each of later) store.tell(each, NOT_SENT);
  for (const each of [tap, ...later]) store.forget(each);
};

const taken = (tap, answer) => {
  const stopAt = stopAddress(answer.text, tap.start);
  for (const stop of store.queue().filter((later) => later.after === tap.key && !later.url)) {
    store.keep({ ...stop, url: stopAt });
  }
  store.noteTaken({ ...tap, stopAt });
  store.forget(tap);
  heard.taken({ ...tap, stopAt }, answer);
};

// A tap in another tab may have followed a start just as that was taken; then a page says where to stop it.
const addressed = async (tap) => {
  if (tap.url) return tap;
  const limit = within(PATIENCE);
  const answer = await fetch(location.href, { signal: limit.signal }).then((page) => (page.ok ? page.text() : "")).catch(() => null);
  limit.done();
  if (answer === null) return null;
  const url = stopAddress(answer, tap.start);
  if (!url) drop(tap, "No timer runs on this step any more, so none was stopped.");
  return { ...tap, url };
};

// Whether a tap is dealt with, so that the next may be sent.
const send = async (kept) => {
  const tap = await addressed(kept);
  if (tap && !tap.url) return true;
  const answer = tap ? await post(tap) : { status: 0 };
  if (!store.isKept(kept)) return true; // another tab has dealt with it
  if (answer.became === "taken") taken(tap, answer);
  else if (answer.became === "refused") drop(tap, heard.refused(tap, answer) ? "" : wordsOf(answer));
  else return unsent(kept, answer), false;
  wait = FIRST_WAIT;
  return true;
};

const unsent = (tap, answer) => {
  const signedOut = answer.became === "keep" && answer.status < 500;
  state.why = signedOut ? "sign-in" : answer.status ? "server" : "network";
  state.signIn = signedOut ? (answer.to ?? location.href) : "";
  for (const each of store.queue().filter((each) => !store.isLasting(each))) drop(each, NOT_KEPT);
  if (signedOut) heard.signedOut(tap, state.signIn);
  else heard.unanswered(tap);
};

export const sendAll = async () => {
  if (sending || !store.queue().length) return;
  clearTimeout(retry);
  if (store.hold()) {
    sending = true;
    for (let tap; (tap = store.queue()[0]) && store.hold() && (await send(tap)); ) heard.changed();
    sending = false;
    store.letGo();
  }
  if (store.queue().length) {
    retry = setTimeout(sendAll, wait);
    wait = Math.min(2 * wait, LONGEST_WAIT);
  } else Object.assign(state, { why: "", signIn: "" });
  heard.changed();
};

export const sendSoon = () => {
  wait = FIRST_WAIT;
  return sendAll();
};

export const giveUp = (tap) => {
  drop(tap, "");
  return sendSoon();
};
