"use strict";
// What HTML alone cannot do: light the drawing's label of the field in hand, keep what is typed while a form is fetched
// anew, count a timer on, say when an answer does not come or a drawing goes on to the right.
(() => {
  const trouble = () => document.getElementById("trouble");
  const say = (key) => {
    const banner = trouble();
    banner.textContent = banner.dataset[key];
    banner.hidden = false;
  };
  const freeButtons = () => {
    for (const button of document.querySelectorAll("button:disabled")) button.disabled = false;
  };
  document.addEventListener("htmx:responseError", ({ detail: { xhr } }) => {
    say("refused");
    const isTold = xhr.status === 403 && xhr.getResponseHeader("Content-Type")?.startsWith("text/plain");
    if (isTold) trouble().textContent = xhr.responseText;
    freeButtons();
  });
  document.addEventListener("htmx:sendError", () => {
    say("unsent");
    freeButtons();
  });
  document.addEventListener("htmx:afterRequest", (event) => {
    if (event.detail.successful) trouble().hidden = true;
  });

  const labels = () => document.querySelectorAll("svg [data-field]");
  const light = () => {
    const lights = document.activeElement?.dataset?.lights;
    for (const label of labels()) label.classList.toggle("lit", label.dataset.field === lights);
  };
  document.addEventListener("focusin", light);
  document.addEventListener("focusout", light);
  document.addEventListener("click", (event) => {
    const name = event.target.closest?.("svg [data-field]")?.dataset.field;
    if (!name) return;
    for (const input of document.querySelectorAll("[data-lights]")) {
      if (input.offsetParent && input.dataset.lights === name) return void input.focus();
    }
  });

  // The server puts the words beside a field; the field itself must say too that it is at fault.
  const markFaults = () => {
    for (const slot of document.querySelectorAll("[id^='fault-']")) {
      const input = document.getElementById("id_" + slot.id.slice("fault-".length));
      if (input) input.setAttribute("aria-invalid", String(slot.textContent.trim() !== ""));
    }
  };
  document.addEventListener("htmx:afterSettle", () => {
    light();
    markFaults();
  });

  // A form that is fetched anew (another family, a corner more) takes along what is typed meanwhile.
  const written = (form) => [...form.querySelectorAll("input[id]:not([type=hidden])")];
  const isTicked = (input) => input.type === "radio" || input.type === "checkbox";
  const state = (input) => (isTicked(input) ? input.checked : input.value);
  let sent = null; // what stood in the form that is being fetched anew
  let meanwhile = [];
  document.addEventListener("htmx:beforeRequest", (event) => {
    const target = event.detail.target;
    if (target.matches("form.bench")) sent = new Map(written(target).map((input) => [input.id, state(input)]));
    else if (sent && target.id === "preview") event.preventDefault(); // of a form about to go
  });
  document.addEventListener("htmx:afterRequest", ({ detail: { target } }) => {
    if (target.matches("form.bench")) sent = null;
  });
  document.addEventListener("htmx:beforeSwap", ({ detail: { target } }) => {
    if (!sent || !target.matches("form.bench")) return;
    meanwhile = written(target).filter((input) => state(input) !== sent.get(input.id)).map((input) => [input.id, state(input)]);
  });
  document.addEventListener("htmx:afterSettle", () => {
    for (const [id, value] of meanwhile.splice(0)) {
      const input = document.getElementById(id);
      if (!input) continue;
      if (isTicked(input)) input.checked = value;
      else input.value = value;
      input.dispatchEvent(new Event("input", { bubbles: true }));
    }
  });

  // A second tap on Save must not make a second job. Coming back by the browser's Back frees the button again.
  document.addEventListener("submit", (event) => {
    // Where the answer renews the row around the button, its form's key does that; disabled, the button would lose focus.
    const renewed = event.target.getAttribute("hx-swap") === "none";
    if (event.target.method === "post" && event.submitter && !renewed) setTimeout(() => (event.submitter.disabled = true));
  });
  window.addEventListener("pageshow", freeButtons);

  // A small screen shows no scroll bar: what runs over to the right says so.
  const tellWide = () => {
    for (const box of document.querySelectorAll(".wide")) box.classList.toggle("runs-over", box.scrollWidth > box.clientWidth + 1);
  };
  tellWide();
  addEventListener("resize", tellWide);
  document.addEventListener("htmx:afterSettle", tellWide);

  // The server says how long a timer had run when it answered; from there this clock only counts on.
  const counted = new WeakMap();
  const figure = (seconds) => [Math.floor(seconds / 3600), Math.floor(seconds / 60) % 60, Math.floor(seconds) % 60]
    .map((part, place) => (place ? String(part).padStart(2, "0") : part)).join(":");
  const count = () => {
    for (const shown of document.querySelectorAll("[data-elapsed]")) {
      if (!counted.has(shown)) counted.set(shown, Date.now() - Number(shown.dataset.elapsed) * 1000);
      shown.textContent = figure((Date.now() - counted.get(shown)) / 1000);
    }
  };
  count();
  setInterval(count, 1000);
  document.addEventListener("htmx:afterSettle", count);
})();
