// A text that no document may hold is not put into a field: to lay out some hundred thousand lines holds up a browser for ten
// seconds and more, and each key after that as well. It is told at once, and what stood in the field stays.

const figure = (number) => number.toLocaleString("en");

function tooMuch(text, { mostLines, mostBytes }) {
  const lines = text.split("\n").length;
  if (lines > mostLines) return `${figure(lines)} lines, and a document takes at most ${figure(Number(mostLines))}`;
  if (text.length > mostBytes) return `${figure(text.length)} characters, and a document takes at most ${figure(Number(mostBytes))}`;
  return "";
}

function tell(told) {
  const said = Object.assign(document.createElement("p"), { className: "finding refuse" });
  said.append(Object.assign(document.createElement("span"), { className: "severity", textContent: "Not put in" }), ` ${told}`);
  document.getElementById("notice").replaceChildren(said);
  return said;
}

document.addEventListener("beforeinput", (event) => {
  const field = event.target;
  if (!field.dataset?.mostLines) return;
  const much = tooMuch(event.data ?? event.dataTransfer?.getData("text/plain") ?? "", field.dataset);
  if (!much) return;
  event.preventDefault();
  const said = tell(`That text has ${much}. What stood here before is as it was. A long program is proved as a file: clickstop check FILE.`);
  field.addEventListener("input", () => said.remove(), { once: true });
});
