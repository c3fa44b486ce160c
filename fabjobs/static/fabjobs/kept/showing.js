// Shows what waits: on its row, in the bar where it is a timer, counted above the page; and what did not count, until it
// is dismissed. What the page itself says is put back before it is drawn anew.

import { giveUp, sendSoon, state } from "./sending.js";
import * as store from "./store.js";
import { SOON, clock, did, lastTick, lastTimer, marks, toShow } from "./taps.js";

const opened = Date.now();
export const isWaiting = (tap) => Boolean(state.why) || tap.at < opened || Date.now() - tap.at > SOON;

// Nothing moves under a finger: what would be drawn while one is down on a button is drawn once it is up and the tap taken.
const CLICKED = 300; // [ms] by then the click has come that a finger lifted makes
let isDown = false;
const later = [];
const release = () => {
  isDown = false;
  for (const draw of later.splice(0)) draw();
};
document.addEventListener("pointerdown", (event) => (isDown = event.target.closest("[data-keep]") !== null), true);
for (const end of ["pointerup", "pointercancel"]) document.addEventListener(end, () => setTimeout(release, CLICKED), true);
document.addEventListener("click", () => setTimeout(release), true);
export const whenStill = (draw) => (isDown ? later.push(draw) : draw());

const make = (tag, properties = {}, ...inside) => {
  const made = Object.assign(document.createElement(tag), properties);
  made.append(...inside);
  return made;
};
const button = (text, onclick) => make("button", { type: "button", onclick }, text);

// What paint() changed of the page, to be put back.
let undo = [];
const change = (element, name, value) => {
  const was = element.getAttribute(name);
  undo.push(() => (was === null ? element.removeAttribute(name) : element.setAttribute(name, was)));
  element.setAttribute(name, value);
};
const rename = (element, text) => {
  const inside = [...element.childNodes];
  undo.push(() => element.replaceChildren(...inside));
  element.replaceChildren(text);
};
const add = (element, where, place) => {
  where.insertAdjacentElement(place, element);
  undo.push(() => element.remove());
};

const waitsFor = () => (state.why === "sign-in" ? "Waiting until you sign in" : "Waiting for the network");
const mark = () => {
  const svg = document.createElementNS("http://www.w3.org/2000/svg", "svg");
  const path = document.createElementNS("http://www.w3.org/2000/svg", "path");
  svg.setAttribute("class", "mark");
  svg.setAttribute("viewBox", "0 0 24 24");
  svg.setAttribute("aria-hidden", "true");
  path.setAttribute("d", "M4 13l5 6L20 5");
  svg.append(path);
  return svg;
};

// The word beside it, once a row and kind of tap, and said with the button.
const note = ({ marked, form, button: tapped, step }, tap) => {
  if (!tap.isSent) change(marked, "data-waiting", tap.kind);
  const id = `waits-${tap.kind === "tick" ? "tick" : "timer"}-${step}`;
  if (!document.getElementById(id)) {
    const row = form.closest("li, .do, section, main") ?? form;
    const words = `${tap.isSent ? "Sent" : waitsFor()}: ${did(tap)} at ${clock(tap.at)}`;
    add(make("p", { id, className: "waits" }, words), row.querySelector(".does") ?? row, "beforeend");
  }
  change(tapped, "aria-describedby", id);
};

const paintTick = (each, tap) => {
  if (!tap) return;
  const { marked, button: tapped } = each;
  note(each, tap);
  if (tapped.hasAttribute("aria-pressed")) {
    change(tapped, "aria-pressed", String(tap.done));
    rename(tapped, tap.done ? mark() : "");
  }
  const words = tap.done ? marked.dataset.done : marked.dataset.undone;
  if (!words) return;
  rename(tapped, words);
  change(tapped, "class", tap.done ? "" : "go");
};

const paintTimer = (each, tap) => {
  if (!tap || each.form.closest("#timer, [data-runs]")) return;
  const { button: tapped, step, runs } = each;
  const isOfIt = tap.step === step;
  const will = isOfIt && tap.kind === "start";
  if (isOfIt) note(each, tap);
  if (will === runs) return;
  change(each.marked, "data-says", String(will));
  rename(tapped, will ? "Stop" : "Start");
  change(tapped, "class", will ? "go" : "");
  const label = tapped.getAttribute("aria-label");
  if (label) change(tapped, "aria-label", label.replace(/^(Start|Stop)/, will ? "Stop" : "Start"));
};

// What the page says of the timer that ran when it was made is hidden once a tap may have stopped it.
const paintRuns = (tap) => {
  for (const said of tap ? document.querySelectorAll("[data-runs]") : []) change(said, "hidden", "");
};

// The bar's timer as it will be once the taps are sent.
const paintBar = (tap) => {
  const bar = document.getElementById("timer");
  if (!tap || !bar) return;
  change(bar, "hidden", "");
  const since = make("span", { className: "since" }, `${did(tap)} ${clock(tap.at)}, waiting`);
  const kept = make("div", { id: "kept-timer", className: "timer" }, make("span", { className: "on" }, tap.of), since);
  if (tap.kind === "start") {
    const form = make("form", { method: "post", action: tap.start }, make("button", { className: "go" }, "Stop", make("span", { className: "hush" }, " the timer")));
    Object.assign(form.dataset, { keep: tap.of });
    kept.append(form);
  }
  add(kept, bar, "afterend");
};

const taps = (count) => (count === 1 ? "1 tap waits" : `${count} taps wait`);
const WHY = {
  "": " to be sent.",
  network: " for the network: kept on this device, sent when the shop's computer answers again.",
  server: ". The shop's computer answers, but with a fault of its own; it is tried again.",
};
const counted = (waiting) => {
  const lines = [];
  if (waiting.length && state.why === "sign-in") {
    lines.push(`${taps(waiting.length)}. Sign in as ${store.who} to have ${waiting.length === 1 ? "it" : "them"} sent.`);
  } else if (waiting.length) lines.push(taps(waiting.length) + WHY[state.why]);
  for (const [other, count] of store.ofOthers()) lines.push(`${taps(count)} on this device until ${other} signs in.`);
  return lines.join(" ");
};

let above = ""; // said before what waits
export const sayAbove = (words) => {
  if (above === words) return;
  above = words;
  paint();
};

const paintBanner = (waiting, refused) => {
  const banner = document.getElementById("waiting").firstElementChild;
  const words = [above, counted(waiting), refused ? `${refused === 1 ? "1 tap" : `${refused} taps`} did not count.` : ""].join(" ").trim();
  if (banner.textContent !== words) banner.textContent = words; // it is read out when it changes
  const ways = document.getElementById("waiting-ways");
  const wanted = `${refused > 0} ${waiting.length ? `${state.why} ${waiting[0].key}` : ""}`;
  if (ways.dataset.shown === wanted) return;
  ways.dataset.shown = wanted;
  ways.replaceChildren();
  if (waiting.length && state.why === "sign-in") ways.append(make("a", { className: "touch", href: state.signIn }, "Sign in"));
  else if (waiting.length && state.why) ways.append(button("Send now", sendSoon));
  if (waiting.length && state.why === "server") {
    ways.append(button(`Give up: ${waiting[0].of}, ${did(waiting[0])}`, () => giveUp(waiting[0])));
  }
  if (refused) ways.append(make("a", { className: "touch", href: "#untaken" }, "See which"));
};

const paintTold = () => {
  const list = document.getElementById("untaken");
  const lines = store.told();
  const shown = lines.map((tap) => tap.key).join();
  if (list.dataset.shown === shown) return;
  list.dataset.shown = shown;
  list.hidden = !lines.length;
  list.querySelector("ul").replaceChildren(...lines.map((tap) => {
    const said = tap.note ? ` Your note was not kept either: “${tap.note}”` : "";
    const gone = button("Dismiss", () => (store.dismiss(tap), paint()));
    gone.append(make("span", { className: "hush" }, ` ${tap.of}, ${did(tap)}`));
    return make("li", {}, make("p", {}, make("b", {}, `${tap.of}: ${did(tap)}`), ` at ${clock(tap.at)}. ${tap.text}${said}`), gone);
  }));
};

export const paint = () => whenStill(draw);
const draw = () => {
  const focused = document.activeElement?.closest?.("#kept-timer") ? "#kept-timer button" : "";
  for (const back of undo.splice(0).reverse()) back();
  const waiting = store.queue().filter(isWaiting);
  const ahead = [...toShow(), ...waiting];
  for (const each of ahead.length ? marks() : []) {
    if (each.isTimer) paintTimer(each, lastTimer(ahead));
    else if (each.kind === "tick") paintTick(each, lastTick(ahead, each.step));
  }
  paintRuns(lastTimer(ahead));
  paintBar(lastTimer(waiting));
  if (focused) document.querySelector(focused)?.focus();
  paintBanner(waiting, store.told().length);
  paintTold();
};
