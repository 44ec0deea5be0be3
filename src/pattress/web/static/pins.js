// A wire dragged to another pin of the board with mouse, pen or finger: says while it is over a pin what
// speaks against it, and posts what the form beside would post. A touch that does not move follows the link.
"use strict";

const EDGE = 56, STEP = 14;     // of the window [px]: near its edge the page moves on under what is dragged
let dragged = null;

const pinAt = event => document.elementFromPoint(event.clientX, event.clientY)?.closest?.("a.pin");
const tellOver = words => { document.getElementById("over").textContent = words; };
const lift = () => { for (const pin of document.querySelectorAll("a.pin.over")) pin.classList.remove("over"); };

function against(pin, from) {
  if (pin === from) return "";
  const words = JSON.parse(pin.dataset.against)[from.dataset.need];
  const name = pin.getAttribute("aria-label");
  return words ? `${name}: ${words}` : pin.dataset.wire ? `${name}: that wire would have to move` : `${name}: would do`;
}

function end() {
  const was = dragged;
  dragged = null;
  lift();
  document.getElementById("board")?.classList.remove("dragging");
  if (was?.moves) tellOver("");
  return was;
}

document.addEventListener("pointerdown", event => {
  const from = event.target.closest?.("a.pin[data-wire]");
  if (from && event.button === 0 && event.isPrimary) dragged = { from, id: event.pointerId, x: event.clientX, y: event.clientY, moves: false };
  else if (dragged) end();      // a second finger
});

document.addEventListener("pointermove", event => {
  if (dragged?.id !== event.pointerId) return;
  if (!dragged.moves && Math.hypot(event.clientX - dragged.x, event.clientY - dragged.y) < 8) return;
  dragged.moves = true;
  document.getElementById("board").classList.add("dragging");
  if (event.clientY < EDGE || event.clientY > innerHeight - EDGE) scrollBy(0, event.clientY < EDGE ? -STEP : STEP);
  lift();
  const pin = pinAt(event), wire = dragged.from.dataset.wire;
  pin?.classList.add("over");
  tellOver(pin && against(pin, dragged.from) || wire);
});

document.addEventListener("pointerup", event => {
  if (dragged?.id !== event.pointerId) return;
  const was = end(), pin = pinAt(event);
  if (!was.moves) return;
  const swallow = click => click.preventDefault();          // the link under the pointer is not meant
  document.addEventListener("click", swallow, true);
  setTimeout(() => document.removeEventListener("click", swallow, true), 50);
  if (!pin || pin === was.from) return;
  const form = document.getElementById("dragged");
  form.elements.wire.value = was.from.dataset.wire;
  form.elements.gpio.value = pin.dataset.gpio;
  form.requestSubmit();
});

document.addEventListener("pointercancel", end);
document.addEventListener("touchmove", event => { if (dragged) event.preventDefault(); }, { passive: false });   // else the page scrolls away with it
document.addEventListener("keydown", event => { if (event.key === "Escape" && dragged) end(); });
document.addEventListener("contextmenu", event => { if (dragged && event.target.closest?.("a.pin")) event.preventDefault(); });
document.addEventListener("dragstart", event => { if (event.target.closest?.("a.pin")) event.preventDefault(); });
