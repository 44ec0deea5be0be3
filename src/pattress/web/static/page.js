// The page works without this. With it a post or a change of the job swaps what moved, in place:
// every element with data-part, by its id, out of the page that the server gives anyway.
"use strict";

const SLOW = 1500, RETRY = 5000, BEAT = 15000;      // ms until waiting is told of, until a refused connection is tried again, between signs of life
const head = () => document.getElementById("head");
let busy = Promise.resolve();
let unsent = null;           // a form that is sent when the page answers again, if nobody has written in the meantime
let swapping = false;        // a field that is taken off the page while somebody types in it says "change", but nobody left it

function isDirty(field) {
  if (field.hasAttribute("data-typed")) return true;      // refused: the server gave it back as it was typed
  if (field.type === "checkbox" || field.type === "radio") return field.checked !== field.defaultChecked;
  if (field.tagName === "SELECT") return [...field.options].some(option => option.selected !== option.defaultSelected);
  return field.value !== field.defaultValue;
}

// What the file says in a field, whatever has been typed over it.
function said(field) {
  if (field.tagName === "SELECT") return [...field.options].find(option => option.defaultSelected)?.value ?? "";
  return field.defaultValue;
}

function note(field, words) {
  const line = document.createElement("p");
  line.className = "error";
  line.role = "alert";
  line.textContent = words;
  field.after(line);
}

// What somebody has typed and not posted stays, and so do the focus and what is folded open.
function keep(part, posted) {
  const typed = new Map();
  for (const field of part.querySelectorAll("input[id], select[id], textarea[id]"))
    if (field.type !== "hidden" && field.type !== "file" && isDirty(field) && field.form !== posted) typed.set(field.id, [field.value, said(field)]);
  const folds = new Map([...part.querySelectorAll("details[id]")].map(fold => [fold.id, fold.open]));
  return () => {
    for (const [id, [value, before]] of typed) {
      const field = document.getElementById(id);
      if (!field) continue;
      const now = said(field);
      field.value = value;
      if (now !== before && now !== value) note(field, `The file was changed meanwhile and now says ${now || "nothing"}. You typed ${value || "nothing"}.`);
    }
    for (const [id, open] of folds) { const fold = document.getElementById(id); if (fold) fold.open = open; }
  };
}

// Where the focus goes when what had it is no more: to what is called the same, or stands for it nearest by, else to the heading.
function standIn(was) {
  const can = one => one && !one.disabled && one.tabIndex >= 0 && one.type !== "hidden" && one.getClientRects().length;
  const words = one => one.getAttribute("href") ?? [one.name, one.value, one.textContent.trim()].join();
  const same = [...document.querySelectorAll(was.tagName)].find(one => can(one) && words(one) === words(was));
  if (same) return same;
  for (let near = was; near && !near.hasAttribute("data-part"); near = near.parentElement)
    for (const { id } of [near, ...near.querySelectorAll("[id]")]) {
      const now = id && document.getElementById(id);
      const found = now && [now, ...now.querySelectorAll("a, button, input, select, textarea, summary")].find(can);
      if (found) return found;
    }
  return null;
}

function heading() {
  const found = document.querySelector("#sheet h2") ?? document.getElementById("sheet");
  found.tabIndex = -1;
  return found;
}

function swap(text, posted, elsewhere) {
  const fresh = new DOMParser().parseFromString(text, "text/html");
  const was = document.activeElement, focus = was?.id, at = was?.selectionStart;
  if (!fresh.getElementById("head")) return tell((fresh.querySelector("main p") ?? fresh.body).textContent.trim());
  for (const part of document.querySelectorAll("[data-part]")) {
    const now = fresh.getElementById(part.id);
    if (!now || now.outerHTML === part.outerHTML && !part.contains(posted)) continue;
    const back = keep(part, posted);
    swapping = true;
    part.replaceWith(document.adoptNode(now));
    swapping = false;
    back();
  }
  document.title = fresh.title;
  if (focus && document.activeElement?.id !== focus) {
    const field = document.getElementById(focus);
    field?.focus({ preventScroll: true });
    if (field && at != null && field.setSelectionRange && /^(text|search|)$/.test(field.type || "")) field.setSelectionRange(at, at);
  }
  if (was && was !== document.body && document.activeElement === document.body) ((elsewhere ? null : standIn(was)) ?? heading()).focus();
  document.dispatchEvent(new CustomEvent("swapped"));
}

async function load(address, options, posted, isStep) {
  const answer = await fetch(address, options);
  const to = new URL(answer.url);
  to.searchParams.delete("said");
  const text = await answer.text();
  const same = to.pathname === location.pathname;
  if (!same) history.pushState(null, "", to);
  swap(text, posted, !same && !isStep);
}

// One after the other, so that a quick typist's edits arrive in order.
function queue(work, form) {
  const slow = () => setTimeout(() => tellLink("Waiting for an answer of the page."), SLOW);
  busy = busy.then(async () => {
    const waiting = slow();
    try {
      await work();
      tellLink("");
    } catch {
      if (form?.hasAttribute("data-at-once")) unsent = { form: form.id, state: head().dataset.state };
      tell("The page is not answering. Is `pattress page` still running?" + (unsent ? " What you typed is still here, and is sent when it answers." : ""));
    } finally {
      clearTimeout(waiting);
    }
  });
  return busy;
}

function tell(words) {
  const line = document.createElement("p");
  line.className = "said";
  line.textContent = words;
  document.getElementById("said").replaceChildren(line);
}

function tellLink(words) {
  document.getElementById("link").textContent = words;
}

document.addEventListener("submit", event => {
  const form = event.target;
  if (form.method !== "post" || form.hasAttribute("data-plain")) return;
  event.preventDefault();
  const body = new FormData(form, event.submitter);
  queue(() => load(form.action, { method: "POST", body }, form), form);
});

// A form with data-at-once is posted as soon as a field of it is left, by its first button, as Enter would.
document.addEventListener("change", event => {
  const form = event.target.form;
  if (!swapping && form?.hasAttribute("data-at-once") && !event.target.closest("[data-later]")) form.requestSubmit(form.querySelector("button"));
});

document.addEventListener("click", event => {
  const link = event.target.closest?.("a[href]");
  if (!link || event.defaultPrevented || event.button || event.metaKey || event.ctrlKey || event.shiftKey) return;
  const isStep = link.closest("#steps, .events");          // what is looked at stays where it is
  if (!link.closest("#room") && !isStep || link.target) return;
  event.preventDefault();
  const address = (link.href.baseVal ?? link.href).split("#")[0];
  queue(() => load(address, undefined, null, isStep).then(() => isStep || document.getElementById("sheet").scrollIntoView({ block: innerWidth < 960 ? "start" : "nearest" })));
});

addEventListener("popstate", () => queue(() => load(location.href)));

// The news of the server. Who begins to listen is told first how things stand, so that a phone
// which slept or was out of reach has missed nothing.
const news = new EventTarget();
let source = null, lost = 0, isLost = false, quiet = 0;

function listen() {
  source?.close();
  source = new EventSource("/news");
  hear();
  source.addEventListener("beat", hear);
  for (const kind of ["change", "look", "progress"])
    source.addEventListener(kind, event => news.dispatchEvent(new MessageEvent(kind, { data: event.data })));
  source.addEventListener("open", found);
  source.addEventListener("error", () => {
    lose();
    if (source.readyState === EventSource.CLOSED) setTimeout(listen, RETRY);
  });
}

// A connection may be dead without a word: the server gives a sign of life every 15 s.
function hear() {
  clearTimeout(quiet);
  quiet = setTimeout(() => { lose(); listen(); }, 3 * BEAT);
}

function lose() {
  if (!isLost) lost = setTimeout(() => tellLink("No connection to the page: what stands here may be old. It is tried again by itself."), SLOW);
  isLost = true;
}

function found() {
  clearTimeout(lost);
  if (!isLost) return;
  isLost = false;
  const was = unsent;
  unsent = null;
  queue(() => load(location.href)).then(() => {
    const form = was && document.getElementById(was.form);
    if (form && was.state === head().dataset.state) form.requestSubmit(form.querySelector("button"));
  });
}

listen();
document.addEventListener("visibilitychange", () => { if (document.visibilityState === "visible") listen(); });
addEventListener("offline", lose);
addEventListener("online", listen);
addEventListener("pageshow", event => { if (event.persisted) listen(); });
news.addEventListener("change", event => {
  const isNew = () => JSON.parse(event.data).state !== head().dataset.state;
  if (isNew()) queue(() => isNew() ? load(location.href) : null);
});
news.addEventListener("look", () => queue(() => load(location.href)));
addEventListener("pagehide", () => source.close());
