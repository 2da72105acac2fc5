// What is typed into the operation sheet is saved when typing pauses, and the bar says how that stands. Until the server
// has answered, this tab keeps it too, so that neither a page loaded anew nor a server that is gone loses it.

const RETRY = 3000; // milliseconds until it is tried again (our choice)
const PATIENCE = 4000; // how long a link waits for what is being saved
const NO_ANSWER = "Not saved: no answer from the program. It is kept in this tab and sent again.";

const form = () => document.getElementById("operations");
const base = () => JSON.parse(document.getElementById("base").value);
const key = () => `bench ${document.querySelector("#operations")?.getAttribute("action")}`;

let edits = 0; // how often something was typed
let saved = 0; // how many of these the server has
let failed = "";
let said = false; // whether a message stands at the top that says why
let again;
const sent = new WeakMap(); // how many had been typed when a request went out
const underway = new Set();

const pending = () => edits > saved;
const refused = () => document.getElementById("saved")?.hasAttribute("data-because") ?? false;
const reasons = () => [...document.querySelectorAll(".accept input[id]")].some((each) => each.value !== each.defaultValue);

function say() {
  const sign = document.getElementById("saved");
  if (!sign || (!pending() && !failed && refused())) return;
  const words = failed || (pending() ? (underway.size ? "Saving\u2026" : "Not saved yet") : "Saved");
  sign.removeAttribute("data-because");
  sign.classList.toggle("pending", words !== "Saved");
  sign.classList.toggle("problem", Boolean(failed));
  if (sign.textContent !== words) sign.textContent = words;
}

function typedHere() {
  const { values } = base();
  return [...new FormData(form())].filter(([name, value]) => name in values && value.replaceAll("\r\n", "\n") !== values[name]);
}

function keep() {
  sessionStorage.setItem(key(), JSON.stringify({ base: base(), typed: typedHere() }));
}

function saveNow() {
  document.getElementById("head-name")?.dispatchEvent(new Event("change", { bubbles: true }));
}

// Whoever comes back to this page may have changed a sheet, or this macro, elsewhere: what was left standing would be the old
// fields, and the verdict on the old sheet.
window.addEventListener("focus", saveNow);

// What was put into the sheet is saved like what is typed.
export function goOn() {
  edits += 1;
  keep();
  say();
  saveNow();
}

export function giveUp(values) {
  const told = values.map((value) => `\u201c${value}\u201d`).join(", ");
  failed = `Not brought back, as the steps have changed: ${told}`;
  say();
}

// A field that another page has changed meanwhile is sent with what this page had seen of it: the server then asks.
function bringBack() {
  const kept = JSON.parse(sessionStorage.getItem(key()) ?? "null");
  sessionStorage.removeItem(key());
  if (!kept?.typed.length) return;
  const now = base();
  if (JSON.stringify(now.blocks) !== JSON.stringify(kept.base.blocks)) {
    return giveUp(kept.typed.map(([, value]) => value));
  }
  let changed = false;
  for (const [name, value] of kept.typed) {
    const field = form().elements.namedItem(name);
    if (!field || field.value === value) continue;
    now.values[name] = kept.base.values[name];
    field.value = value;
    changed = true;
  }
  if (!changed) return;
  document.getElementById("base").value = JSON.stringify(now);
  goOn();
}

for (const kind of ["input", "change"]) {
  document.addEventListener(kind, (event) => {
    if (!event.isTrusted || !event.target.closest?.(".through")) return;
    if (kind === "change" && pending()) return;
    edits += 1;
    failed = "";
    keep();
    say();
  });
}

const saves = ({ requestConfig, pathInfo }) =>
  requestConfig.verb === "post" && /^\/bench\/[^/]+(\/save)?$/.test(pathInfo.requestPath);

document.addEventListener("htmx:beforeRequest", ({ detail }) => {
  if (!saves(detail)) return;
  sent.set(detail.xhr, edits);
  underway.add(detail.xhr);
  say();
});

document.addEventListener("htmx:afterRequest", ({ detail }) => {
  if (!underway.delete(detail.xhr)) return;
  if (detail.successful) {
    saved = Math.max(saved, sent.get(detail.xhr));
    if (said) document.getElementById("notice")?.replaceChildren();
    failed = "";
    said = false;
    if (!pending() && form()) sessionStorage.removeItem(key());
  }
  setTimeout(say);
});
document.addEventListener("htmx:afterSettle", say);

// What there is to choose, or to copy, stands above the steps, where a field far down hides it. It is shown once.
let asked;

document.addEventListener("htmx:afterSettle", ({ target }) => {
  if (target.id !== "sheet") return;
  const there = document.querySelector("#sheet .clash, #sheet .left-over");
  if (there?.textContent !== asked) requestAnimationFrame(() => there?.scrollIntoView({ block: "center" }));
  asked = there?.textContent;
});

document.addEventListener("htmx:sendError", ({ detail }) => {
  if (!saves(detail) || !pending()) return;
  failed = NO_ANSWER;
  clearTimeout(again);
  again = setTimeout(saveNow, RETRY);
});
document.addEventListener("htmx:responseError", ({ detail }) => {
  if (!saves(detail)) return;
  failed = "Not saved: see the message at the top.";
  said = true;
});

document.addEventListener("keydown", (event) => {
  if (event.key.toLowerCase() !== "s" || !(event.ctrlKey || event.metaKey) || event.altKey) return;
  event.preventDefault();
  saveNow();
});

async function settled() {
  saveNow();
  for (const end = Date.now() + PATIENCE; pending() && !failed && Date.now() < end; ) await new Promise((on) => setTimeout(on, 50));
}

// A link of the page lets what was typed be saved first; the browser asks where that did not come about.
document.addEventListener("click", async (event) => {
  const link = event.target.closest?.("a[href]");
  if (!link || !pending() || event.defaultPrevented || event.button || event.ctrlKey || event.metaKey || event.shiftKey) return;
  if (link.hasAttribute("hx-get") || link.download || link.pathname === location.pathname) return;
  event.preventDefault();
  await settled();
  location.assign(link.href);
});

let behind = 0; // what was sent off behind a page that is left

function sendBehind() {
  if (!pending() || behind === edits || !form()) return;
  behind = edits;
  navigator.sendBeacon(`${form().action}/save`, new FormData(form()));
}

window.addEventListener("beforeunload", (event) => {
  sendBehind();
  if (pending() || failed || refused() || reasons()) event.preventDefault();
});
window.addEventListener("pagehide", sendBehind);
document.addEventListener("DOMContentLoaded", () => setTimeout(bringBack));
