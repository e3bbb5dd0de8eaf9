// The review by voice: what was heard and what is to be done comes from the server; it is done here, and told.

import * as sound from "./sound.js";

const at = (id) => document.getElementById(id);
const main = at("main");
const STORE = "voice";
let does = null; // what the page can do: given by note.js
let name = ""; // of this window, for the server
let seen = 0; // the number of the message done last
let state = 0; // of all windows, as known here
let used = true;
let usedAt = 0;
let held = null; // the question that the server holds
let on = true;

function keep(more = {}) {
  try {
    sessionStorage.setItem(STORE, JSON.stringify({ name, seen, ...more }));
  } catch {
    // without storage another page of this window is another window
  }
}

function kept() {
  try {
    return JSON.parse(sessionStorage.getItem(STORE) ?? "{}");
  } catch {
    return {};
  }
}

// What was heard, and what came of it; one line, which is read out.
function told(heard, what, wrong = false) {
  at("voice-heard").textContent = heard ? `“${heard}”` : "";
  at("voice-did").textContent = what;
  at("voice-told").classList.toggle("wrong", wrong);
}

function show(now) {
  on = now.on;
  at("voice").dataset.on = now.on ? "yes" : "no";
  at("listen").setAttribute("aria-pressed", String(now.on));
  at("listen-text").textContent = now.on ? "Stop listening" : "Listen";
  const where = now.microphone ? ` to ${now.microphone}` : "";
  const more = now.open ? "; reading what you said …" : "";
  at("voice-state").textContent = now.on ? `Listening${where}${more}` : "Not listening: what is said is not heard";
  at("voice-problem").textContent = now.problem;
}

function ask() {
  const here = {
    window: name, seen, state, used, playing: sound.isPlaying(), ...does.here(),
  };
  used = false;
  held = new AbortController();
  return fetch("/voice/next", {
    method: "POST",
    headers: { "Content-Type": "application/json" },
    body: JSON.stringify(here),
    signal: held.signal,
  });
}

// Something that the server has to know has changed: it is asked anew.
export function renew() {
  held?.abort();
}

const later = (milliseconds) => new Promise((done) => setTimeout(done, milliseconds));

async function goOn() {
  for (;;) {
    try {
      const answer = await ask();
      const now = await answer.json();
      held = null;
      if (!answer.ok) throw new TypeError(now.error);
      if (!now.own) {
        name = crypto.randomUUID(); // a copy of this window goes by the same name
        keep();
        continue;
      }
      state = now.state;
      show(now);
      if (now.message) await perform(now.message);
    } catch (error) {
      if (error.name === "AbortError") continue;
      at("voice-problem").textContent = "dictate review does not answer; is it still running?";
      state = 0;
      await later(1000);
    }
  }
}

async function perform(message) {
  if (message.number === seen) return;
  seen = message.number;
  keep({ heard: message.heard, did: "done" }); // another page may come before it can be told
  let did = { text: "", problem: "" };
  try {
    did = await does[message.do](message);
  } catch (error) {
    did.problem = error.message;
  }
  const more = message.do === "change" && message.why ? `; but: ${message.why}` : "";
  const text = did.problem || `${did.text || "done"}${more}`;
  told(message.heard, text, Boolean(did.problem));
  keep({ heard: message.heard, did: text });
}

async function turn() {
  await fetch("/voice/listen", {
    method: "POST",
    headers: { "Content-Type": "application/json" },
    body: JSON.stringify({ on: !on }),
  }).catch(() => {});
}

// Something here was used by hand: what is said next is for this window.
function use() {
  used = true;
  if (Date.now() - usedAt > 1000) renew();
  usedAt = Date.now();
}

export function begin(given) {
  if (!at("voice")) return;
  does = {
    ...given,
    nothing: async ({ why }) => ({ text: why, problem: "" }),
    stop_listening: async () => ({ text: "not listening any more; press Listen to go on", problem: "" }),
  };
  const before = kept();
  name = before.name ?? crypto.randomUUID();
  seen = before.seen ?? 0;
  if (before.did) told(before.heard, before.did);
  keep();
  at("listen").addEventListener("click", turn);
  for (const kind of ["pointerdown", "keydown", "focus"]) addEventListener(kind, use);
  sound.onPlaying(renew);
  goOn();
}

export { turn };
