// Letting go of enable at a moment of a run: what still moves is in the run, by the rules of the estimate, and is drawn
// as the stretch of path that is left.

const SVG = "http://www.w3.org/2000/svg";

const apart = (one, other) => Math.hypot(...Object.keys(one).map((axis) => one[axis] - other[axis]));

// The places from one time to another, or as far as so many mm reach.
function trail(run, from, to, placeAt, most = Infinity) {
  const points = [placeAt(from)];
  let length = 0;
  for (const time of [...run.times.filter((each) => each > from && each < to), to]) {
    const next = placeAt(time);
    const way = apart(points.at(-1), next);
    if (length + way >= most) {
      const part = way > 0 ? (most - length) / way : 0;
      const last = points.at(-1);
      points.push(Object.fromEntries(Object.keys(next).map((axis) => [axis, last[axis] + (next[axis] - last[axis]) * part])));
      return { points, length: most };
    }
    points.push(next);
    length += way;
  }
  return { points, length };
}

// What is left at a time: { says, trail, to, brakes }; ``to`` is when it stands still.
export function whatGoesOn(run, time, placeAt) {
  const { ends, to, mm, s, because } = run.release;
  const index = ends.findIndex((end) => time < end);
  const waits = run.waits.some((wait) => wait.at === wait.to && wait.at === time); // nothing was sent past it
  const rests = waits || index < 0 || (to ? to[index] <= time : mm[index] === 0 && s[index] === 0);
  const when = `Let go at ${time.toFixed(1)} s`;
  if (rests) return { says: `${when}: nothing moves any more.`, trail: [], to: time, brakes: true };
  const left = to ? trail(run, time, to[index], placeAt) : trail(run, time, run.seconds, placeAt, mm[index]);
  const digits = run.size === 1 ? 1 : 2;
  const path = `${((to ? left.length : mm[index]) / run.size).toFixed(digits)} ${run.unit}`;
  const seconds = `${(to ? to[index] - time : s[index]).toFixed(1)} s`;
  const goesOn = to ? `it goes on for ${path} and ${seconds}` : `it goes on for ${path} and ${seconds} at most`;
  return { says: `${when}: ${goesOn}. ${because[0].toUpperCase()}${because.slice(1)}.`, trail: left.points, to: to ? to[index] : time, brakes: !to };
}

export function forget() {
  for (const each of document.querySelectorAll(".goes-on")) each.remove();
}

// The stretch that is left, in every view, in the frame of the table as the path is.
export function draw(points, views) {
  forget();
  if (points.length < 2) return;
  for (const { view, axes } of views) {
    const [x, y] = view.dataset.tip.split(" ").map(Number);
    const path = document.createElementNS(SVG, "path");
    const [across, up] = axes;
    const onPage = points.map((place) => `${(x + place[across]).toFixed(2)} ${(y - place[up]).toFixed(2)}`);
    path.setAttribute("d", `M${onPage.join("L")}`);
    path.setAttribute("class", "goes-on");
    view.querySelector(".paths").append(path);
  }
}
