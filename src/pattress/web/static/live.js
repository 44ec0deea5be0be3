// A switch touched in the drawing is worked as by the first button of its line.
"use strict";

document.addEventListener("click", event => {
  const link = event.target.closest?.("a.stands");
  const form = link && document.querySelector(`${link.getAttribute("href")} form`);
  if (!form) return;
  event.preventDefault();
  const buttons = [...form.querySelectorAll("button")], now = buttons.findIndex(button => button.getAttribute("aria-pressed"));
  form.requestSubmit(buttons[(now + 1) % buttons.length]);
});
