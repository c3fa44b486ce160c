// Taps that can't be sent are kept on the device: on every form or button marked data-keep a tap is written down first,
// then sent, and struck off when the shop has said what became of it. It works over plain http, in several tabs, and after
// the page was closed. Without this script the forms are sent as they are.

import { found, lost } from "./leaving.js";
import { hear, sendAll, sendSoon } from "./sending.js";
import { isWaiting, paint, whenStill } from "./showing.js";
import * as store from "./store.js";
import { SOON, isDouble, isOf, marks, meaning, sentUnshown, shownNow, tapOf, toShow } from "./taps.js";

const FULL = `Not kept: ${store.MOST} taps of yours wait on this device already. Write it down, and tap it when they are sent.`;
const AGAIN = 3000; // [ms] after which a page that could not be fetched is tried again
const stale = new Set(); // steps of which this page shows what was before
const live = new Map(); // by its key, the form that a tap came from, while this page is open

const isPlain = (mark) => !mark.form.hasAttribute("hx-post");

const stop = (event) => {
  event.preventDefault();
  event.stopPropagation();
};
// A number or a seam in a drawing is the button of its step's row (touch.js).
const markedBy = (target) => {
  const step = target.closest("svg a[data-ticks]")?.dataset.ticks;
  return step ? document.querySelector(`#step-${step} form.box[data-keep]`) : target.closest("button")?.closest("[data-keep]");
};
document.addEventListener("click", (event) => {
  const marked = markedBy(event.target);
  if (store.person && marked && isDouble(event, meaning(marked))) stop(event);
}, true);

document.addEventListener("submit", (event) => {
  const marked = event.submitter?.closest("[data-keep]") ?? event.target.closest("[data-keep]");
  if (!store.person || !marked) return;
  stop(event);
  const mark = meaning(marked);
  const before = store.queue();
  if (before.some((tap) => isOf(mark)(tap) && !isWaiting(tap))) return; // it is on its way
  const tap = tapOf(mark);
  if (before.length >= store.MOST) return store.tell(tap, FULL), paint();
  store.keep(tap);
  live.set(tap.key, mark);
  setTimeout(paint, SOON + 50);
  if (before.length) paint();
  sendSoon();
}, true);

// What the person typed elsewhere on the page is not thrown away by loading it anew.
const isTouched = () =>
  [...document.querySelectorAll("main :is(input:not([type=hidden]), textarea)")].some((input) => input.value !== input.defaultValue || input.checked !== input.defaultChecked);
const go = (to) => location.assign(to);

const isFreshly = (tap) => live.has(tap.key) && !live.get(tap.key).waited; // tapped on this page and never said to wait
const inPage = (mark) => mark.form.closest("main") !== null;
const here = (tap) => {
  const of = marks().filter((mark) => isOf(mark)(tap));
  const from = live.get(tap.key);
  return from?.form.isConnected ? from : (of.find(inPage) ?? of[0]);
};
const inPlace = (parts) => {
  for (const part of parts) part.setAttribute("hx-swap-oob", "true");
  return parts.map((part) => part.outerHTML).join("");
};
const swap = (tap, html, then = () => {}) => {
  const answer = document.createElement("template");
  answer.innerHTML = html;
  for (const part of answer.content.querySelectorAll("[hx-swap-oob]")) {
    if (!document.getElementById(part.id)) part.remove(); // of another page
  }
  const form = tap && here(tap)?.form;
  const style = form?.getAttribute("hx-swap") ?? "none";
  const target = document.querySelector(form?.getAttribute("hx-target") ?? "body");
  whenStill(() => {
    window.htmx.swap(target, answer.innerHTML, { swapStyle: target === document.body ? "none" : style });
    then();
  });
};

// A form that htmx does not swap is on a page that is fetched anew, in place: to load it would leave the person without a
// page where the network goes again. What is typed elsewhere on it stays; until then it shows what was sent.
const isWhole = (tap, answer) => {
  const mark = here(tap);
  return answer.anew || Boolean(mark && isPlain(mark) && inPage(mark));
};
let fetching = false;
let again = 0;
let turns = 0; // taps taken while this page is open: what was fetched before the last of them may be out of date
const renew = async (to = location.pathname + location.search) => {
  if (to.split(/[?#]/)[0] !== location.pathname) return go(to);
  if (fetching || isTouched()) return;
  fetching = true;
  clearTimeout(again);
  const [shown, turn] = [toShow(), turns];
  const answer = await fetch(to, { cache: "no-store" }).catch(() => (lost(), null));
  const text = answer?.ok ? await answer.text().catch(() => "") : "";
  fetching = false;
  if (answer?.redirected) return go(answer.url);
  if (answer && !answer.ok && answer.status < 500) return; // no page of its own
  const now = new DOMParser().parseFromString(text, "text/html");
  const parts = ["main", "timer"].map((id) => now.getElementById(id));
  if (!parts.every(Boolean)) return void (again = setTimeout(renew, AGAIN, to));
  if (isTouched()) return;
  if (turn !== turns) return renew(to);
  shownNow(shown);
  swap(null, inPlace(parts));
  paint();
};

hear({
  taken(tap, answer) {
    found();
    turns += 1;
    const isFresh = isFreshly(tap);
    const mark = here(tap);
    sentUnshown(tap); // the next tap follows it from now on, whenever the page comes to show it
    if (isFresh && answer.to) go(answer.to);
    else if (isWhole(tap, answer)) {
      if (isFresh && isPlain(mark)) mark.form.reset(); // its note was sent with it
      swap(null, answer.text); // the bar's timer is in it
      renew(mark?.marked.dataset.then);
    } else swap(tap, answer.text, () => stale.size || (shownNow(toShow().filter((each) => each.key === tap.key)), paint()));
    live.delete(tap.key);
  },
  // Whether the page says by itself why it was refused: in the row, of a tap that was never said to wait.
  refused(tap, answer) {
    const mark = live.get(tap.key);
    const isFresh = isFreshly(tap);
    live.delete(tap.key);
    if (isFresh && answer.to) return go(answer.to), true;
    if (!answer.to) swap(tap, answer.text);
    if (isWhole(tap, answer)) renew(here(tap)?.marked.dataset.then);
    return isFresh && !isPlain(mark) && document.getElementById(`step-${tap.step}`) !== null;
  },
  signedOut(tap, to) {
    if (isFreshly(tap)) go(to);
  },
  unanswered() {
    lost();
    for (const mark of live.values()) {
      if (!mark.waited && isPlain(mark)) mark.form.reset(); // the note in it waits with the tap
      mark.waited = true;
    }
  },
  changed: paint,
});

// Another tab has sent what waited, or the page before this one while this was on its way: it shows what was before.
const freshen = async () => {
  if (marks().some((mark) => isPlain(mark) && inPage(mark) && stale.has(mark.step))) return stale.clear(), renew();
  const [steps, shown, turn] = [[...stale], toShow(), turns];
  const answer = await fetch(location.href, { cache: "no-store" }).catch(() => null);
  const text = answer?.ok ? await answer.text().catch(() => "") : "";
  if (answer && !answer.ok && answer.status < 500) return;
  if (!text || turn !== turns) return void setTimeout(freshen, text ? 0 : AGAIN);
  for (const step of steps) stale.delete(step);
  shownNow(shown);
  const now = new DOMParser().parseFromString(text, "text/html");
  const ids = steps.map((step) => `step-${step}`).concat("made", "put-away", "timer");
  swap(null, inPlace(ids.map((id) => now.getElementById(id)).filter(Boolean)));
};
for (const tap of store.takenSince(performance.timeOrigin)) {
  stale.add(tap.step);
  sentUnshown(tap);
}
if (stale.size) freshen();
window.addEventListener("storage", (event) => {
  const wasTap = store.isTap(event.key) && event.newValue === null && event.oldValue;
  if (wasTap) stale.add(JSON.parse(event.oldValue).step);
  if (stale.size && !store.queue().length) freshen();
  if (store.isTap(event.key) || store.isTold(event.key)) paint();
  if (store.isLetGo(event)) setTimeout(sendAll, 50);
});

window.addEventListener("online", sendSoon);
document.addEventListener("visibilitychange", () => document.hidden || sendSoon());
document.addEventListener("htmx:afterRequest", ({ detail }) => detail.successful && sendSoon());
document.addEventListener("htmx:afterSettle", paint);
window.addEventListener("pagehide", store.letGo);
window.addEventListener("pageshow", (event) => event.persisted && (paint(), sendSoon()));
paint();
sendAll();
