// While an answer takes longer than a second: how far the work on it has come, and a button that stops it. Until all
// of a file has gone up the server knows of no work yet: so far the share is of what was sent, and stopping takes it back.

const PATIENCE = 1000;
const RENEWAL = 400;

const sign = document.getElementById("working");
const bar = sign.querySelector("progress");
const waiting = new Map();
const uploads = new Map();

function address(name) {
  return `/working/${encodeURIComponent(name)}`;
}

function stop(name) {
  return fetch(`${address(name)}/stop`, { method: "POST" }).catch(() => undefined);
}

async function renew(name) {
  if (!waiting.has(name)) return;
  sign.hidden = false;
  const { share } = await fetch(address(name)).then((answer) => answer.json()).catch(() => ({ share: null }));
  if (!waiting.has(name)) return;
  const sent = uploads.get(name);
  if (share === null && !(sent?.share < 1)) bar.removeAttribute("value");
  else bar.value = share ?? sent.share;
  waiting.set(name, setTimeout(renew, RENEWAL, name));
}

function done(name) {
  uploads.delete(name);
  clearTimeout(waiting.get(name));
  waiting.delete(name);
  if (waiting.size === 0) sign.hidden = true;
}

document.addEventListener("htmx:configRequest", (event) => {
  event.detail.headers["X-Work"] = Math.random().toString(36).slice(2);
});

document.addEventListener("htmx:beforeSend", (event) => {
  const name = event.detail.requestConfig.headers["X-Work"];
  waiting.set(name, setTimeout(renew, PATIENCE, name));
  const upload = { share: 0, request: event.detail.xhr };
  event.detail.xhr.upload.addEventListener("progress", ({ loaded, total }) => { upload.share = loaded / total; });
  if (event.detail.elt.enctype === "multipart/form-data") uploads.set(name, upload);
});

// A newer question takes the place of an older one. That is no error, which htmx by itself would call it on the console.
let replaced = false;
document.addEventListener("htmx:beforeSend", ({ detail }) => {
  const tell = detail.xhr.onabort;
  detail.xhr.onabort = (event) => {
    replaced = true;
    tell(event);
    replaced = false;
  };
});

// Neither is what was asked to stop, which is answered like anything else; only the page goes on as after one.
const stopped = ({ xhr }) => xhr?.getResponseHeader("X-Stopped");
document.addEventListener("htmx:beforeSwap", ({ detail }) => { detail.isError ||= stopped(detail); });
if (globalThis.htmx) htmx.logger = (element, name, detail) => (replaced || stopped(detail)) && delete detail.error; // a page that is left may be without

// An answer says what is to have the focus. htmx gives it back by its id first, by which another line may have opened, and
// closed the one to go on with.
document.addEventListener("htmx:afterSwap", () => {
  const there = document.querySelector("[data-autofocus]");
  there?.removeAttribute("data-autofocus");
  if (there?.localName !== "summary") there?.closest("details")?.setAttribute("open", "");
  there?.focus();
});

document.addEventListener("htmx:afterRequest", (event) => {
  const name = event.detail.requestConfig.headers["X-Work"];
  if (event.detail.xhr.status === 0) stop(name);
  done(name);
});

sign.querySelector("button").addEventListener("click", () => waiting.forEach((_, name) => {
  if (uploads.get(name)?.share < 1) uploads.get(name).request.abort();
  else stop(name);
}));
