"use strict";
// What HTML alone cannot do: light the drawing's label of the field in hand, and say when an answer does not come.
(() => {
  const trouble = () => document.getElementById("trouble");
  const say = (key) => {
    const banner = trouble();
    banner.textContent = banner.dataset[key];
    banner.hidden = false;
  };
  document.addEventListener("htmx:responseError", () => say("refused"));
  document.addEventListener("htmx:sendError", () => say("unsent"));
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

  // A second tap on Save must not make a second job. Coming back by the browser's Back frees the button again.
  document.addEventListener("submit", (event) => {
    if (event.target.method === "post" && event.submitter) setTimeout(() => (event.submitter.disabled = true));
  });
  window.addEventListener("pageshow", () => {
    for (const button of document.querySelectorAll("button:disabled")) button.disabled = false;
  });
})();
