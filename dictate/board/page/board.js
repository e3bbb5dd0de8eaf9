// The bench page: shows each board that comes, and counts the running clock itself in between.
"use strict";

const at = (id) => document.getElementById(id);
const SILENT_MS = 13000; // the server gives a sign of life every 4 s
const RETRY_MS = 1500;

let board = null;
let begunAt = ""; // which run of the clock `ahead` belongs to
let ahead = 0; // recording milliseconds minus this page's, as known best
let heardFromMs = performance.now();
let events = null;
let ended = false;
let changed = ""; // the changes shown

function put(id, text) {
  // only what changed: a screen reader would say it again
  if (at(id).textContent !== text) at(id).textContent = text;
}

function element(name, text, className) {
  const made = document.createElement(name);
  if (text) made.textContent = text;
  if (className) made.className = className;
  return made;
}

function showRows(rows) {
  const made = rows
    .filter((row) => !board.ask_missing || row.missing.length)
    .map((row) => {
      const line = element("div", "", row.here ? "row here" : "row");
      const place = element("dt", row.place);
      if (row.here) place.append(element("span", " (now)", "said"));
      line.append(place);
      if (row.parts.length || !row.missing.length) {
        line.append(element("dd", row.parts.join("; "), "parts"));
      }
      if (row.missing.length) {
        const holes = element("dd", "", "missing");
        const list = element("ul");
        list.setAttribute("aria-label", "missing");
        list.append(...row.missing.map((word) => element("li", word)));
        holes.append(list);
        line.append(holes);
      }
      return line;
    });
  at("rows").replaceChildren(...made);
}

function fitNote() {
  // all of the note on one screen, as large as it can be; below the least size the page scrolls
  const note = at("note");
  const page = document.documentElement;
  const least = Number(getComputedStyle(note).getPropertyValue("--fit-least"));
  for (let fit = 1.2; fit >= least - 0.01; fit -= 0.05) {
    note.style.setProperty("--fit", fit.toFixed(2));
    if (note.scrollHeight <= note.clientHeight + 1 && page.scrollHeight <= innerHeight + 1) return;
  }
}

function figures() {
  const clock = board.clock;
  if (clock.state === "stopped" && clock.seconds !== null) {
    return clock.seconds.toFixed(clock.sure ? 2 : 1);
  }
  if (clock.state !== "running" || clock.since_s === null) return "–";
  const now_s = board.moving ? (performance.now() + ahead) / 1000 : board.at_s;
  return (Math.floor(Math.max(0, now_s - clock.since_s) * 10 + 1e-6) / 10).toFixed(1);
}

function showClock() {
  if (!board) return;
  const text = figures();
  if (at("figures").textContent !== text) {
    at("figures").textContent = text;
    at("figures").style.setProperty("--n", String(Math.max(4, text.length + !board.clock.sure)));
  }
  if (board.clock.state === "running") requestAnimationFrame(showClock);
}

function keepTime(age_s) {
  // a board that was long on its way only ever looks too early, so the latest estimate of a run is best
  const run = `${board.clock.state} ${board.clock.since_s} ${board.moving}`;
  const estimate = (board.at_s + (board.moving ? age_s : 0)) * 1000 - performance.now();
  ahead = run === begunAt ? Math.max(ahead, estimate) : estimate;
  begunAt = run;
}

function shape(of) {
  // what the room for the note, or what stands in it, hangs on
  return JSON.stringify([of.rows, of.begun, of.ask_missing, of.problem, of.title, of.heading, of.mode, of.changed,
    of.notice]);
}

function show(data) {
  const counting = board !== null && board.clock.state === "running";
  const before = board ? shape(board) : "";
  board = data.board;
  keepTime(data.age_s);
  document.body.dataset.mode = board.mode;
  document.body.classList.toggle("asking", board.ask_missing);
  put("heading", board.heading);
  put("title", board.title);
  put("mode", board.mode_words);
  put("heard", board.last_heard ? `“${board.last_heard}”` : "");
  put("problem", board.problem);
  put("caption", board.clock.caption);
  put("notice", board.notice);
  put("resume", board.paused);
  at("paused").hidden = !board.paused;
  if (changed !== board.changed.join("\n")) {
    changed = board.changed.join("\n");
    at("changed").replaceChildren(...board.changed.map((line) => element("li", line)));
  }
  at("clock").dataset.state = board.clock.state;
  at("clock").dataset.sure = String(board.clock.sure);
  at("sound").hidden = board.sound === null;
  at("sound-bar").style.transform = `scaleX(${board.sound ?? 0})`;
  at("asked").hidden = !board.ask_missing;
  const rows = board.begun ? board.rows : [];
  const missing = rows.some((row) => row.missing.length);
  put("asked", !board.begun ? "No wine yet" : missing ? "Still missing" : "Nothing is missing");
  if (!counting || board.clock.state !== "running") showClock();
  if (before !== shape(board)) {
    showRows(rows);
    fitNote();
  }
}

function alive() {
  heardFromMs = performance.now();
  document.body.classList.remove("lost");
  if (at("lost").textContent) {
    put("lost", "");
    fitNote();
  }
}

function lost() {
  if (ended) return;
  document.body.classList.add("lost");
  put("lost", "Connection lost: what stands here is old. Trying again.");
  fitNote();
}

function connect() {
  if (ended) return;
  if (events) events.close();
  events = new EventSource("/events");
  events.onopen = alive;
  events.onmessage = (event) => {
    alive();
    show(JSON.parse(event.data));
  };
  events.addEventListener("beat", alive);
  events.addEventListener("end", () => {
    ended = true;
    events.close();
    alive();
    put("mode", "ended");
    document.body.dataset.mode = "ended";
  });
  events.onerror = () => {
    lost();
    // the browser tries again by itself, save after an answer that was no stream
    if (events.readyState === EventSource.CLOSED) setTimeout(connect, RETRY_MS);
  };
}

setInterval(() => {
  // a network that fell silent raises no error
  if (performance.now() - heardFromMs > SILENT_MS && !ended) {
    lost();
    heardFromMs = performance.now();
    connect();
  }
}, 1000);

async function stayAwake() {
  // where the browser allows it; over a network it does not, and the tablet's own setting has to do
  try {
    if (document.visibilityState === "visible") await navigator.wakeLock?.request("screen");
  } catch {
    // refused, by low battery say: the page works all the same
  }
}
document.addEventListener("visibilitychange", stayAwake);
addEventListener("resize", fitNote);

history.replaceState(null, "", "/"); // the key need not stand in the address line
stayAwake();
connect();
