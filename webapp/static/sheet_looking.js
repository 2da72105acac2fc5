// The drawing of a sheet is moved and zoomed as that of the bench, and stays so while it is drawn anew as figures change.

import { look } from "./looking.js";

document.documentElement.classList.add("scripted");
const looking = look(document.getElementById("sheet-view"));
document.addEventListener("htmx:afterSettle", ({ detail }) => detail.target.id === "drawn" && looking.renew());
