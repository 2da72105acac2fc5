// What was typed into a form of a sheet and not saved is kept by this tab, for whoever leaves the page and comes back.
// It is offered, never put in unasked: another form, machine or workshop is never filled with it.

const BESIDE = new Set(["seen"]);
const forms = () => [...document.querySelectorAll("form.values[data-of]")];
const key = (form) => `unsaved ${form.dataset.of} ${form.getAttribute("action").replace(/#.*/, "")}`;
const entries = (form) => [...new FormData(form)].filter(([, value]) => typeof value === "string");
const told = (of) => JSON.stringify(of.filter(([name]) => !BESIDE.has(name)));

function keep(form) {
  sessionStorage.setItem(key(form), JSON.stringify(entries(form)));
}

function button(says, does) {
  const made = document.createElement("button");
  made.type = "button";
  made.textContent = says;
  made.addEventListener("click", does);
  return made;
}

// The server shows the form with all of it, rows that were added too, and saves nothing.
function bringBack(form, kept) {
  const again = document.createElement("form");
  again.method = "post";
  again.action = form.action;
  for (const [name, value] of [...kept, ["again", "yes"]]) {
    const field = document.createElement("textarea");
    [field.name, field.value] = [name, value];
    again.append(field);
  }
  again.hidden = true;
  document.body.append(again);
  again.submit();
}

function offer(form, kept) {
  const note = document.createElement("div");
  note.className = "told unsaved";
  note.setAttribute("role", "status");
  const says = document.createElement("p");
  says.textContent = "What was typed here last was not saved.";
  const buttons = document.createElement("p");
  buttons.className = "buttons";
  const forget = () => {
    sessionStorage.removeItem(key(form));
    note.remove();
  };
  buttons.append(button("Bring it back", () => bringBack(form, kept)), button("Forget it", forget));
  note.append(says, buttons);
  form.prepend(note);
}

for (const form of forms()) {
  const before = JSON.parse(sessionStorage.getItem(key(form)) ?? "null");
  if (form.dataset.typed) keep(form);
  else if (before && told(before) !== told(entries(form))) offer(form, before);
  else sessionStorage.removeItem(key(form));
}

for (const kind of ["input", "change"]) {
  document.addEventListener(kind, ({ target }) => {
    const form = target.closest?.("form.values[data-of]");
    if (form) keep(form);
  });
}
document.addEventListener("htmx:afterSettle", () => {
  for (const form of forms()) if (form.dataset.typed) keep(form);
});
document.addEventListener("submit", ({ target }) => {
  if (target.matches("form.values[data-of]")) sessionStorage.removeItem(key(target));
});
