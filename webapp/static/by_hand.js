// What lines written by hand need is loaded where there are some: most macros have none. By its whole address, for on the bench
// this is one of several scripts in one.

function look() {
  if (document.querySelector("[data-own-lines]")) import("/static/own_lines.js").catch(() => undefined); // else it stays a plain field
}

look();
document.addEventListener("htmx:afterSettle", look);
