// The two onsets of the finish clock, each on its own piece of the wave form, to be dragged.

import * as sound from "./sound.js";

const REACH_S = 1.5; // seconds of sound that a piece shows
const number = document.getElementById("main").dataset.number;
const zooms = Object.fromEntries(
  [...document.querySelectorAll(".zoom")].map((zoom) => [
    zoom.dataset.end,
    { canvas: zoom.querySelector("canvas"), box: zoom.querySelector(".zoom-wave"), handle: zoom.querySelector(".handle"), at: 0, left: 0 },
  ]),
);
let tell = () => {};

export function begin(from, to, told) {
  tell = told;
  for (const [end, at] of [["from", from], ["to", to]]) {
    zooms[end].at = at;
    zooms[end].left = at - REACH_S / 2;
    put(zooms[end]);
  }
}

export function draw() {
  for (const zoom of Object.values(zooms)) sound.draw(zoom.canvas, zoom.left, zoom.left + REACH_S);
}

export function now() {
  return { from_s: zooms.from.at, to_s: zooms.to.at };
}

function put(zoom) {
  zoom.at = Math.round(Math.min(sound.span.end, Math.max(sound.span.start, zoom.at)) * 1000) / 1000;
  if (zoom.at < zoom.left || zoom.at > zoom.left + REACH_S) {
    zoom.left = zoom.at - REACH_S / 2;
    draw();
  }
  zoom.handle.style.left = `${((zoom.at - zoom.left) / REACH_S) * 100}%`;
  zoom.handle.setAttribute("aria-valuemin", sound.span.start.toFixed(2));
  zoom.handle.setAttribute("aria-valuemax", sound.span.end.toFixed(2));
  zoom.handle.setAttribute("aria-valuenow", zoom.at.toFixed(3));
  zoom.handle.setAttribute("aria-valuetext", `${(zoom.at - sound.span.start).toFixed(2)} seconds into this note`);
  tell(zooms.to.at - zooms.from.at);
}

async function snap(zoom) {
  const answer = await fetch(`/note/${number}/onset?near=${zoom.at}`);
  if (!answer.ok) return;
  zoom.at = (await answer.json()).onset_s;
  put(zoom);
}

for (const zoom of Object.values(zooms)) {
  const drag = (event) => {
    const box = zoom.box.getBoundingClientRect();
    zoom.at = zoom.left + (Math.min(1, Math.max(0, (event.clientX - box.left) / box.width))) * REACH_S;
    put(zoom);
  };
  zoom.box.addEventListener("pointerdown", (event) => {
    zoom.box.setPointerCapture(event.pointerId);
    zoom.handle.focus();
    event.preventDefault();
    drag(event);
  });
  zoom.box.addEventListener("pointermove", (event) => {
    if (zoom.box.hasPointerCapture(event.pointerId)) drag(event);
  });
  zoom.handle.addEventListener("keydown", (event) => {
    const step = { ArrowLeft: -1, ArrowRight: 1, ArrowDown: -1, ArrowUp: 1 }[event.key];
    if (step) {
      event.preventDefault();
      event.stopPropagation();
      zoom.at += step * (event.shiftKey ? 0.1 : 0.01);
      put(zoom);
    } else if (event.key === "s") {
      snap(zoom);
    } else if (event.key === "p" || event.key === " ") {
      event.preventDefault();
      sound.play(zoom.at, zoom.at + 1);
    }
  });
}
