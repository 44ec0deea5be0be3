// Progress of a long work, as the server tells it; its end swaps the sheet as any change does.
"use strict";

news.addEventListener("progress", event => {
  const { kind, words, done, of } = JSON.parse(event.data);
  const place = document.getElementById(`work-${kind}`), bar = place?.querySelector("progress");
  if (!bar) return;
  if (of) { bar.max = of; bar.value = done; }
  place.querySelector(".words").textContent = words;
});
