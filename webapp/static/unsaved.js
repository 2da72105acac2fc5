// What was typed into a form of a sheet and not saved is kept by this tab, for whoever leaves the page and comes back.
// It is offered, never put in unasked: another form, machine or workshop is never filled with it. What was sent counts as
// saved once the sheet has another revision: a program that was stopped, or a disk that is full, has not taken it.

const BESIDE = new Set(["seen"]);
const forms = () => [...document.querySelectorAll("form[data-of]")];
const key = (form) => `unsaved ${form.dataset.of} ${form.getAttribute("action").replace(/#.*/, "")}`;
const entries = (form) => [...new FormData(form)].filter(([, value]) => typeof value === "string");
const seen = (of) => of.find(([name]) => name === "seen")?.[1];
const told = (of) => JSON.stringify(of.filter(([name]) => !BESIDE.has(name)));

function keep(form, sent = false) {
  try {
    sessionStorage.setItem(key(form), JSON.stringify({ typed: entries(form), sent }));
  } catch {
    sessionStorage.removeItem(key(form)); // more than a tab may keep
  }
}

function button(says, does) {
  const made = document.createElement("button");
  made.type = "button";
  made.textContent = says;
  made.addEventListener("click", does);
  return made;
}

// The server shows the form with all of it, rows that were added too, and saves nothing. A document is one field, which
// comes back with the revision that it was typed over, so that what was saved since is merged or asked about.
function bringBack(form, kept) {
  if (!form.matches(".values")) {
    for (const [name, value] of kept) form.elements.namedItem(name).value = value;
    form.querySelector(".unsaved")?.remove();
    keep(form);
    return;
  }
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
  const { typed, sent } = JSON.parse(sessionStorage.getItem(key(form)) ?? "{}");
  const now = entries(form);
  const taken = sent && seen(typed) !== seen(now);
  if (form.dataset.typed) keep(form);
  else if (typed && !taken && told(typed) !== told(now)) offer(form, typed);
  else sessionStorage.removeItem(key(form));
}

for (const kind of ["input", "change"]) {
  document.addEventListener(kind, ({ target }) => {
    const form = target.closest?.("form[data-of]");
    if (form) keep(form);
  });
}
document.addEventListener("htmx:afterSettle", () => {
  for (const form of forms()) if (form.dataset.typed) keep(form);
});
document.addEventListener("submit", ({ target }) => {
  if (target.matches("form[data-of]") && sessionStorage.getItem(key(target))) keep(target, true);
});
