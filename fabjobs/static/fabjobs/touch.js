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
    if (!tapped) return;
    const { control } = tapped;
    const waits = row(control)?.querySelector(".waits"); // kept on the device until the network is back
    if (row(control) === tapped.was && !waits) return;
    const place = control.closest("figure")?.parentElement?.querySelector(".touch-told");
    const { name } = control.ownerSVGElement.querySelector(`a.touch[data-ticks="${control.dataset.ticks}"]`).dataset;
    const said = [...(row(control)?.querySelectorAll(".told, .waits") ?? [])].map((line) => line.textContent.trim()).join(" ");
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
    if (event.key !== " ") return;
    if (!event.repeat) tap(event);
    else if (event.target.closest?.("svg a[data-ticks]")) event.preventDefault(); // a key that is held is one tap
  });
  // A row is drawn anew by an answer, or marked as waiting by what keeps taps: either way the drawing follows it.
  const rows = new MutationObserver(() => {
    follow();
    tell();
  });
  for (const list of document.querySelectorAll("ol.steps")) {
    rows.observe(list, { subtree: true, childList: true, attributeFilter: ["aria-pressed"] });
  }
  follow();
})();
