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

// A tap in another tab may have followed a start just as that was taken; then a page says where to stop it: url, "" where that
// timer runs no more. Only a page of the shop that is shown to who tapped says so: else the answer is as to a tap not dealt with.
const addressOf = async (tap) => {
  const limit = within(PATIENCE);
  try {
    const answer = await fetch(location.href, { signal: limit.signal, cache: "no-store" });
    const text = await answer.text();
    const shown = page(text);
    if (!shown.getElementById("kept-taps")) return { status: answer.status };
    if (shown.body.dataset.person !== store.person) return { status: 200, became: "keep", to: answer.url };
    return answer.ok ? { url: stopAddress(text, tap.start) } : { status: answer.status };
  } catch {
    return { status: 0 };
  } finally {
    limit.done();
  }
};

// Whether a tap is dealt with, so that the next may be sent.
const send = async (tap) => {
  const found = tap.url ? tap : await addressOf(tap);
  if (found.url === "") return drop(tap, "No timer runs on this step any more, so none was stopped."), true;
  const answer = found.url ? await post({ ...tap, url: found.url }) : found;
  if (!store.isKept(tap)) return true; // another tab has dealt with it
  if (answer.became === "taken") taken(tap, answer);
  else if (answer.became === "refused") drop(tap, heard.refused(tap, answer) ? "" : wordsOf(answer));
  else return unsent(tap, answer), false;
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

const sendThem = async () => {
  sending = true;
  try {
    for (let tap; (tap = store.queue()[0]) && store.hold() && (await send(tap)); ) heard.changed();
  } finally {
    sending = false;
    store.letGo();
  }
};

export const sendAll = async () => {
  if (sending || !store.queue().length) return;
  clearTimeout(retry);
  try {
    if (store.hold()) await sendThem();
  } finally { // whatever went wrong as an answer was shown: what waits behind it is still sent
    if (store.queue().length) {
      retry = setTimeout(sendAll, wait);
      wait = Math.min(2 * wait, LONGEST_WAIT);
    } else Object.assign(state, { why: "", signIn: "" });
    heard.changed();
  }
};

export const sendSoon = () => {
  wait = FIRST_WAIT;
  return sendAll();
};

export const giveUp = (tap) => {
  drop(tap, "");
  return sendSoon();
};
