// While an answer takes longer than a second: how far the work on it has come, and a button that stops it.

const PATIENCE = 1000;
const RENEWAL = 400;

const sign = document.getElementById("working");
const bar = sign.querySelector("progress");
const waiting = new Map();

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
  if (share === null) bar.removeAttribute("value");
  else bar.value = share;
  waiting.set(name, setTimeout(renew, RENEWAL, name));
}

function done(name) {
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
});

document.addEventListener("htmx:afterRequest", (event) => {
  const name = event.detail.requestConfig.headers["X-Work"];
  if (event.detail.xhr.status === 0) stop(name);
  done(name);
});

sign.querySelector("button").addEventListener("click", () => waiting.forEach((_, name) => stop(name)));
