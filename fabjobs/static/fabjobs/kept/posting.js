// A form that is sent as it is, not kept as a tap: what is filled in is not given up for the browser's own page where the shop
// does not answer. It is left only once the shop has answered; a photo, which may break off on its way, only once it is there.
// Without this script the forms are sent as they are. It comes after start.js, which takes what is kept as a tap first.

import { answers } from "./leaving.js";

const PATIENCE = 15_000; // [ms] a shop that plans meanwhile is slow, and a false word costs another tap
const SOON = 1000; // [ms] after which it is said that an answer is waited for
const NO_ROOM = 507; // the shop's own words, as of other refusals
const ASKING = "Waiting for the shop's computer to answer.";
const UNSENT = "Not sent: the shop's computer does not answer.";
const FAILED = "Not kept: the shop's computer has a fault of its own.";
const STILL_HERE = " What you filled in is still here; send it once it answers.";

const busy = new WeakSet(); // forms of which an answer is waited for
const sure = new WeakSet(); // forms that may go as they are

const hasFields = (form) => form.querySelector("textarea, select, input:not([type=hidden])") !== null;
const tell = (form, words) => {
  let told = form.querySelector(":scope > .unsent");
  if (!told) {
    told = Object.assign(document.createElement("p"), { className: "told unsent" });
    told.setAttribute("role", "alert");
    form.append(told);
  }
  told.textContent = words;
  told.hidden = !words;
  if (words) told.scrollIntoView({ block: "nearest" });
};
const tellUnsent = (form, words = UNSENT) => tell(form, words + (hasFields(form) ? STILL_HERE : ""));

const go = (form, submitter) => {
  if (!form.isConnected || (submitter && submitter.form !== form)) return;
  sure.add(form);
  form.requestSubmit(submitter);
  sure.delete(form);
};

// Where the answer led. The part of that page which shows what was sent is told by the form.
const goOn = (form, answer) => {
  const to = new URL(answer.url);
  const isHere = to.pathname + to.search === location.pathname + location.search;
  to.hash = form.dataset.part ?? "";
  if (!isHere) return location.assign(to);
  history.replaceState(null, "", to);
  location.reload();
};

const upload = async (form, submitter) => {
  const answer = await fetch(form.action, { method: "POST", body: new FormData(form, submitter) }).catch(() => null);
  if (!answer) return tellUnsent(form);
  if (answer.redirected) return goOn(form, answer);
  if (answer.status >= 500 && answer.status !== NO_ROOM) return tellUnsent(form, FAILED);
  go(form, submitter); // refused, as it will be again: the browser shows the page that says why
};

const send = async (form, submitter) => {
  busy.add(form);
  const asking = setTimeout(() => tell(form, ASKING), SOON);
  const isThere = await answers(document.querySelector("link[rel=icon]").href, PATIENCE);
  const isUpload = form.enctype === "multipart/form-data";
  if (isThere && isUpload) await upload(form, submitter);
  clearTimeout(asking);
  busy.delete(form);
  if (!isThere) tellUnsent(form);
  else if (!isUpload) go(form, submitter);
};

const isSentByHtmx = (element) => element?.hasAttribute("hx-post") && !element.hasAttribute("hx-trigger");
document.addEventListener("submit", (event) => {
  const { target: form, submitter } = event;
  if (event.defaultPrevented || sure.has(form) || form.method !== "post" || !form.closest("main")) return;
  if (isSentByHtmx(form) || isSentByHtmx(submitter)) return;
  event.preventDefault();
  event.stopPropagation();
  if (!busy.has(form)) send(form, submitter);
}, true);
document.addEventListener("htmx:sendError", ({ detail: { elt } }) => elt.matches("form") && isSentByHtmx(elt) && tellUnsent(elt));
document.addEventListener("htmx:beforeRequest", ({ detail: { elt } }) => elt.querySelector?.(":scope > .unsent") && tell(elt, ""));
