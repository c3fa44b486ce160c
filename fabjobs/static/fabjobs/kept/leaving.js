// At the work, where the network may be gone, a link is followed only once the shop has answered: the browser would put a
// page of its own in the place of the step, with nothing on it to tap. While nothing failed, links are left alone.

import { state, within } from "./sending.js";
import { isWaiting, sayAbove } from "./showing.js";
import * as store from "./store.js";

const PATIENCE = 3000; // [ms] a link that was tapped waits no longer to be opened
const AGAIN = 3000;
const ASKING = "Seeing whether the shop's computer answers.";
const SHUT = "No network: the next page cannot be opened.";
const KEPT = " What you tap here is kept.";

let isLost = false; // a request failed, and none was answered since
let turn = 0; // of the link that was tapped last
export const lost = () => (isLost = true);
export const found = () => {
  isLost = false;
  sayAbove("");
};

const isInDoubt = () => isLost || !navigator.onLine || Boolean(state.why) || store.queue().some(isWaiting);

export const answers = async (page, patience = PATIENCE) => {
  const limit = within(patience);
  const answer = await fetch(page, { method: "HEAD", cache: "no-store", signal: limit.signal }).catch(() => null);
  limit.done();
  return answer !== null;
};

// What is said is taken back by itself once it is no longer so.
const tellShut = async (page, of) => {
  lost();
  sayAbove(SHUT + (store.isLastingNow() ? KEPT : ""));
  while (isLost && of === turn) {
    await new Promise((then) => setTimeout(then, AGAIN));
    if (isLost && of === turn && (await answers(page))) found();
  }
};

const follow = async (page) => {
  const of = ++turn;
  sayAbove(ASKING); // also, so that the same words are said again
  const isThere = await answers(page);
  if (of !== turn) return;
  if (!isThere) return tellShut(page, of);
  found();
  location.assign(page);
};

const isOwn = (link) => link instanceof HTMLAnchorElement && link.origin === location.origin && !link.target;
const isInPage = (link) => link.hash && link.pathname === location.pathname;
document.addEventListener("click", (event) => {
  const link = event.target.closest("a[href]");
  if (event.defaultPrevented || event.button || event.ctrlKey || event.metaKey || event.shiftKey || event.altKey) return;
  if (!document.querySelector(".work") || !isOwn(link) || isInPage(link) || !isInDoubt()) return;
  event.preventDefault();
  follow(link.href);
});
document.addEventListener("htmx:sendError", lost);
