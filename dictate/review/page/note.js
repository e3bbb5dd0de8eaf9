// A note under review: which value is looked at, what a key does, and the page made anew after each change.

import * as panel from "./panel.js";
import * as sound from "./sound.js";
import * as voice from "./voice.js";

const at = (id) => document.getElementById(id);
const main = at("main");
const number = main.dataset.number;
let revision = Number(main.dataset.revision);
let looked = null; // the id of the value looked at
let busy = Promise.resolve();

const values = () => [...document.querySelectorAll(".value")];
const doubtful = () => values().filter((each) => each.dataset.rank).sort((a, b) => a.dataset.rank - b.dataset.rank);
const current = () => (looked ? at(looked) : null);

let last = { text: "", problem: "" }; // what was told last

// `said`: it was asked for by voice, and the voice's own line tells it.
function tell(text, problem = "", said = "") {
  last = { text, problem };
  at("told").textContent = said ? "" : text;
  at("problem").textContent = said ? "" : problem;
}

function look(element, { focus = true, heard = false } = {}) {
  if (!element) return;
  for (const each of values()) each.classList.toggle("looked", each === element);
  looked = element.id;
  if (panel.opened() !== element) panel.open(element);
  markWords(element);
  for (const link of document.querySelectorAll("#look a")) {
    if (link.dataset.key === looked) link.setAttribute("aria-current", "true");
    else link.removeAttribute("aria-current");
  }
  if (focus) element.focus();
  if (heard) play(element);
  voice.renew();
}

// The seconds of a value's words; a timed finish ends where its last cue begins, and that is to be heard too.
function wordsOf(element) {
  const to = Number(element.dataset.to);
  return [Number(element.dataset.from), element.dataset.path === "finish.seconds" ? to + 0.6 : to];
}

function markWords(element) {
  const [from, to] = wordsOf(element);
  for (const word of document.querySelectorAll("#said [data-w]")) {
    const [first, last] = word.dataset.w.split(" ").map(Number);
    word.classList.toggle("heard-now", Boolean(element.dataset.from) && first < to && last > from);
  }
}

function play(element) {
  if (element?.dataset.from) sound.play(...wordsOf(element));
  else if (element) tell("This was not said; there is nothing to hear.");
}

// The page's parts that a change may change, as the server sets them now.
function fetchPage() {
  return new Promise((done, failed) => {
    const asked = new XMLHttpRequest();
    asked.open("GET", `/note/${number}?changed`);
    asked.setRequestHeader("Accept", "text/html");
    asked.responseType = "document"; // parsed without any script in it being run
    asked.onload = () => (asked.status === 200 && asked.response ? done(asked.response) : failed(new Error("the note could not be read again")));
    asked.onerror = () => failed(new Error("dictate review does not answer; is it still running?"));
    asked.send();
  });
}

async function renew() {
  const page = await fetchPage();
  const was = looked;
  const inNote = at("note").contains(document.activeElement) || at("panel").contains(document.activeElement);
  const focused = document.activeElement?.id;
  panel.close();
  for (const id of ["look", "note", "history", "lanes"]) {
    const open = at(id).open;
    at(id).replaceWith(document.adoptNode(page.getElementById(id)));
    if (open) at(id).open = true;
  }
  document.querySelector("h1").textContent = page.querySelector("h1").textContent;
  document.title = page.title;
  const now = page.getElementById("main").dataset;
  revision = Number(now.revision);
  looked = null;
  return { was, inNote, focused };
}

function lookAgain({ was, inNote, focused }) {
  const element = (was && at(was)) || doubtful()[0] || values()[0];
  look(element, { focus: inNote });
  if (!inNote && focused) at(focused)?.focus();
}

async function post(asked, said) {
  const change = asked.do === "undo" ? asked : { do: "change", changes: asked.changes ?? [asked], said };
  const answer = await fetch(`/note/${number}/change`, {
    method: "POST",
    headers: { "Content-Type": "application/json" },
    body: JSON.stringify({ revision, ...change }),
  });
  const told = (answer.headers.get("content-type") ?? "").includes("json") ? await answer.json() : { error: await answer.text() };
  return { status: answer.status, ...told };
}

// One change after the other: each is made of the revision that the one before gave. `said`: the words that ask
// for it, where it is asked for by voice.
function change(asked, { then = lookAgain, said = "" } = {}) {
  busy = busy.then(async () => {
    try {
      const answer = await post(asked, said);
      if (answer.error && answer.status !== 409) {
        tell("", answer.error, said);
        return;
      }
      const state = await renew();
      if (answer.error) {
        tell("", [answer.error, ...(answer.theirs ?? []).map((line) => `There now: ${line}.`)].join(" "), said);
        lookAgain(state);
        return;
      }
      const theirs = answer.meanwhile.map((line) => `Changed elsewhere meanwhile: ${line}.`);
      tell([answer.told.join("; ") || "Nothing changed: the note says so", ...theirs].join(". "), "", said);
      then(state);
    } catch (error) {
      tell("", error instanceof TypeError ? "dictate review does not answer; is it still running? Nothing is lost that was saved." : error.message, said);
    }
  });
  return busy;
}

panel.onChange((asked) => change(asked));

function placeOf(element) {
  return { path: element.dataset.path, ...(element.dataset.index ? { index: Number(element.dataset.index) } : {}) };
}

// Where a list lost or got an item the values behind it have other names: the rank says what is next.
function goOn(state) {
  const left = doubtful();
  if (left.length) look(left[0], { focus: true, heard: document.body.dataset.played !== undefined });
  else {
    panel.close();
    at("accept")?.focus();
  }
  return state;
}

function accept(said = "") {
  const element = current();
  if (!doubtful().length) {
    if (at("accept")) return change({ do: "accept" }, { then: nextNote, said });
    nextNote();
  } else if (element) {
    return change({ do: "accept", ...placeOf(element) }, { then: goOn, said });
  }
  return busy;
}

function nextNote() {
  location.assign(main.dataset.next);
}

function next(step) {
  const left = doubtful();
  if (!left.length) {
    if (step > 0) nextNote();
    return;
  }
  const place = left.indexOf(current());
  if (step > 0 && place === left.length - 1 && left.length > 1) tell("That was the last doubtful one.");
  look(left[(place + step + left.length) % left.length], { heard: document.body.dataset.played !== undefined });
}

function beside(step) {
  const all = values();
  const place = all.indexOf(current());
  look(all[(place + step + all.length) % all.length]);
}

function nudge(step, said = "") {
  const element = current();
  if (element?.dataset.kind !== "level") return busy;
  const level = Math.min(10, Math.max(0, Number(element.dataset.edit) + step));
  return change({ do: "put", path: element.dataset.path, text: String(Math.round(level * 100) / 100) }, { said });
}

// What is done by voice; each gives what is to be told of it.
async function spoken(act) {
  last = { text: "", problem: "" };
  await act();
  await busy;
  return last;
}

function lookedAt(text) {
  if (!last.text) last = { text: `${text}${current()?.getAttribute("aria-label") ?? "nothing to look at"}`, problem: "" };
}

function address(key) {
  if (key) look(at(`v.${key}`), { focus: false });
}

function remove(said) {
  const { path, index } = current() ? placeOf(current()) : {};
  if (!path) return busy;
  return change(index === undefined ? { do: "put", path, text: "" } : { do: "remove", path, index }, { said });
}

voice.begin({
  here: () => ({ note: Number(number), revision, key: looked ? looked.slice(2) : "" }),
  accept: ({ heard, key }) => spoken(() => {
    address(key);
    return key ? change({ do: "accept", ...placeOf(current()) }, { then: goOn, said: heard }) : accept(heard);
  }),
  accept_all: ({ heard }) => spoken(() => change({ do: "accept" }, { said: heard })),
  change: ({ heard, changes }) => spoken(() => change({ changes }, { said: heard })),
  remove: ({ heard }) => spoken(() => remove(heard)),
  higher: ({ heard }) => spoken(() => nudge(0.5, heard)),
  lower: ({ heard }) => spoken(() => nudge(-0.5, heard)),
  undo: ({ heard }) => spoken(() => change({ do: "undo" }, { said: heard })),
  next: () => spoken(() => {
    next(1);
    lookedAt("");
  }),
  back: () => spoken(() => {
    next(-1);
    lookedAt("");
  }),
  next_note: () => spoken(nextNote),
  look: ({ key }) => spoken(() => {
    address(key);
    lookedAt("");
  }),
  play: ({ key }) => spoken(() => {
    address(key);
    ACTIONS.p();
    lookedAt("playing: ");
  }),
  play_all: () => spoken(() => {
    sound.play(sound.span.start);
    last = { text: "playing the note", problem: "" };
  }),
});

const ACTIONS = {
  a: () => accept(),
  A: () => change({ do: "accept" }),
  n: () => next(1),
  b: () => next(-1),
  p: () => (current() ? play(current()) : sound.play(sound.span.start)),
  u: () => change({ do: "undo" }),
  l: () => at("voice") && voice.turn(),
  "+": () => nudge(0.5),
  "=": () => nudge(0.5),
  "-": () => nudge(-0.5),
};

document.addEventListener("keydown", (event) => {
  if (event.ctrlKey || event.altKey || event.metaKey || event.defaultPrevented) return;
  if (event.target.matches("input, select, textarea, [role=slider]")) return;
  const onValue = event.target.classList.contains("value");
  if (onValue && event.key === "Enter") {
    event.preventDefault();
    look(event.target, { focus: false });
    panel.enter();
  } else if (onValue && event.key === " ") {
    event.preventDefault();
    look(event.target, { heard: true });
  } else if (event.key === "ArrowRight" || event.key === "ArrowLeft") {
    if (!onValue) return;
    event.preventDefault();
    beside(event.key === "ArrowRight" ? 1 : -1);
  } else if (event.key === "Escape") {
    panel.leave();
  } else if (at("letters").checked && ACTIONS[event.key]) {
    event.preventDefault();
    ACTIONS[event.key]();
  }
});

const BUTTONS = { accept: ACTIONS.a, "accept-all": ACTIONS.A, next: ACTIONS.n, play: ACTIONS.p, undo: ACTIONS.u };

document.addEventListener("click", (event) => {
  const button = event.target.closest("button, a, .value");
  if (!button) return;
  if (button.classList.contains("value")) look(button, { heard: true });
  else if (button.classList.contains("heard")) sound.play(Number(button.dataset.from), Number(button.dataset.to));
  else if (button.classList.contains("add")) panel.openAdding(button);
  else if (button.classList.contains("timing")) {
    panel.open(button);
    panel.enter();
  }
  else if (button.dataset.key) {
    event.preventDefault();
    look(at(button.dataset.key), { heard: true });
  } else if (BUTTONS[button.id]) BUTTONS[button.id]();
});

document.addEventListener("focusin", (event) => {
  if (event.target.classList.contains("value") && event.target.id !== looked) look(event.target, { focus: false });
});

try {
  at("letters").checked = sessionStorage.getItem("letters") !== "off";
  at("letters").addEventListener("change", () => sessionStorage.setItem("letters", at("letters").checked ? "on" : "off"));
} catch {
  // without storage the choice is for this page alone
}

look(doubtful()[0], { focus: false });
if (!doubtful().length) at("accept")?.focus({ preventScroll: true });
sound.fetchPeaks().then(panel.soundCame);
document.body.dataset.ready = "yes";
