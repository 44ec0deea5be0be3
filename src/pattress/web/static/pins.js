// A wire dragged to another pin of the board: says while it is over a pin what speaks against it,
// and posts what the form beside would post. With a finger the form is used, so that the page scrolls.
"use strict";

let dragged = null;

const pinAt = event => document.elementFromPoint(event.clientX, event.clientY)?.closest?.("a.pin");

function against(pin, from) {
  if (pin === from) return "";
  const words = JSON.parse(pin.dataset.against)[from.dataset.need];
  const name = pin.getAttribute("aria-label");
  return words ? `${name}: ${words}` : pin.dataset.wire ? `${name}: that wire would have to move` : `${name}: would do`;
}

document.addEventListener("pointerdown", event => {
  const from = event.target.closest?.("a.pin[data-wire]");
  if (from && event.button === 0 && event.pointerType !== "touch") dragged = { from, x: event.clientX, y: event.clientY, moves: false };
});

document.addEventListener("pointermove", event => {
  if (!dragged) return;
  if (!dragged.moves && Math.hypot(event.clientX - dragged.x, event.clientY - dragged.y) < 8) return;
  dragged.moves = true;
  document.getElementById("board").classList.add("dragging");
  for (const pin of document.querySelectorAll("a.pin.over")) pin.classList.remove("over");
  const pin = pinAt(event);
  pin?.classList.add("over");
  document.getElementById("over").textContent = pin ? against(pin, dragged.from) || dragged.from.dataset.wire : dragged.from.dataset.wire;
});

document.addEventListener("pointerup", event => {
  const was = dragged;
  dragged = null;
  if (!was?.moves) return;
  document.getElementById("board").classList.remove("dragging");
  document.getElementById("over").textContent = "";
  const swallow = click => click.preventDefault();          // the link under the pointer is not meant
  document.addEventListener("click", swallow, true);
  setTimeout(() => document.removeEventListener("click", swallow, true), 50);
  const pin = pinAt(event);
  if (!pin || pin === was.from) return;
  const form = document.getElementById("dragged");
  form.elements.wire.value = was.from.dataset.wire;
  form.elements.gpio.value = pin.dataset.gpio;
  form.requestSubmit();
});

document.addEventListener("keydown", event => {
  if (event.key === "Escape" && dragged) { dragged = null; document.getElementById("board").classList.remove("dragging"); document.getElementById("over").textContent = ""; }
});

document.addEventListener("dragstart", event => { if (event.target.closest?.("a.pin")) event.preventDefault(); });
