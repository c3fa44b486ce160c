"use strict";
// Ticks in a drawing. Without this script a number or a seam is a link to its step; with it, it is the button of the step's own
// row: a tap sends the form of that row, and shows what the row then says.
(() => {
  const row = (control) => document.getElementById(`step-${control.dataset.ticks}`);
  const form = (control) => row(control)?.querySelector("form.box");
  const isDone = (control) => row(control)?.querySelector(".tick-box")?.getAttribute("aria-pressed") === "true";
  const controls = () => document.querySelectorAll("svg a[data-ticks]");

  const follow = () => {
    for (const control of controls()) {
      if (!form(control)) continue; // a step that is no longer made: its link leads to what is said of it
      control.classList.toggle("done", isDone(control));
      if (control.classList.contains("touch-line")) continue;
      control.setAttribute("role", "button");
      control.setAttribute("aria-pressed", String(isDone(control)));
      control.setAttribute("aria-label", control.dataset.name);
    }
  };

  let tapped = null; // the control whose answer is waited for, and its row as it was
  const tell = () => {
    if (!tapped || row(tapped.control) === tapped.was) return;
    const { control } = tapped;
    const place = control.closest("figure")?.parentElement?.querySelector(".touch-told");
    const { name } = control.ownerSVGElement.querySelector(`a.touch[data-ticks="${control.dataset.ticks}"]`).dataset;
    const said = [...(row(control)?.querySelectorAll(".told") ?? [])].map((line) => line.textContent.trim()).join(" ");
    if (place) place.textContent = `${name}: ${isDone(control) ? "ticked" : "not ticked"}. ${said}`.trim();
    tapped = null;
  };
  const tap = (event) => {
    const control = event.target.closest?.("svg a[data-ticks]");
    if (!control || event.ctrlKey || event.metaKey || event.shiftKey || event.button > 0) return;
    const own = form(control);
    if (!own) return;
    event.preventDefault();
    tapped = { control, was: row(control) };
    own.requestSubmit();
  };
  document.addEventListener("click", tap);
  document.addEventListener("keydown", (event) => {
    if (event.key === " ") tap(event);
  });
  document.addEventListener("htmx:afterSettle", () => {
    follow();
    tell();
  });
  follow();
})();
