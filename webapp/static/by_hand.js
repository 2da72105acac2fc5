// What lines written by hand need is loaded where there are some: most macros have none.

function look() {
  if (document.querySelector("[data-own-lines]")) import("/static/own_lines.js");
}

look();
document.addEventListener("htmx:afterSettle", look);
