// The sound of the note: played in parts, drawn as a strip.

const main = document.getElementById("main");
const audio = document.getElementById("audio");
const start = Number(main.dataset.start);
const end = Number(main.dataset.end);
const number = main.dataset.number;
const PEAKS_A_SECOND = 200;
const BEFORE_S = 0.15; // a word is heard better with a little in front of it
const BEHIND_S = 0.3;
let stopAt = Infinity;
let peaks = null;

export const has = main.dataset.sound === "yes";
let gone = has ? "" : "There is no recording of this note.";

// Why there is nothing to be heard or drawn, "" where there is, or where that is not known yet.
export const lacks = () => gone;
export const span = { start, end };

export function clock(seconds) {
  const whole = Math.max(0, Math.floor(seconds));
  const minutes = String(Math.floor(whole / 60) % 60);
  const rest = String(whole % 60).padStart(2, "0");
  return whole >= 3600 ? `${Math.floor(whole / 3600)}:${minutes.padStart(2, "0")}:${rest}` : `${minutes}:${rest}`;
}

function tell(text) {
  document.getElementById("sound-told").textContent = text;
}

function follow() {
  const at = audio.currentTime;
  if (at >= stopAt) audio.pause();
  document.getElementById("time").textContent = clock(at);
  const head = document.getElementById("head");
  head.hidden = false;
  head.style.left = `${Math.min(100, (at / Math.max(0.001, end - start)) * 100)}%`;
  if (!audio.paused) requestAnimationFrame(follow);
}

// Plays seconds [from, to) of the recording; without `to` on to the end.
export async function play(from, to = Infinity) {
  if (gone) {
    tell(gone);
    return;
  }
  if (!audio.src) audio.src = `/note/${number}/sound.wav`;
  stopAt = to - start + BEHIND_S;
  const at = Math.max(0, from - start - (to === Infinity ? 0 : BEFORE_S));
  document.body.dataset.played = `${from} ${to}`;
  try {
    if (audio.readyState === 0) {
      tell("Reading the recording …");
      audio.load();
      await new Promise((done, failed) => {
        audio.addEventListener("loadedmetadata", done, { once: true });
        audio.addEventListener("error", failed, { once: true });
      });
    }
    audio.currentTime = at;
    await audio.play();
    tell("");
  } catch (error) {
    if (error.name === "AbortError") return; // another one was asked for
    tell(error.name === "NotAllowedError" ? "Press Play once: the browser wants it." : await why());
    audio.removeAttribute("src");
  }
}

async function why() {
  const answer = await fetch(`/note/${number}/peaks`);
  return answer.ok ? "The recording cannot be played." : (await answer.json()).error;
}

export function stop() {
  audio.pause();
}

export const isPlaying = () => !audio.paused && !audio.ended;

// Tells whenever it begins to play or ends.
export function onPlaying(tell) {
  for (const kind of ["play", "pause", "ended"]) audio.addEventListener(kind, tell);
}

audio.addEventListener("play", () => {
  document.getElementById("play-all").textContent = "Stop";
  follow();
});
audio.addEventListener("pause", () => {
  document.getElementById("play-all").textContent = "Play";
  follow();
});

// The loudest of peaks [first, last), 0 to 1.
function loudest(first, last) {
  let found = 0;
  for (let i = Math.max(0, first); i < Math.min(peaks.length, Math.max(last, first + 1)); i += 1) {
    if (peaks[i] > found) found = peaks[i];
  }
  return found / 255;
}

// Draws seconds [from, to) of the recording on a canvas as large as it is shown.
export function draw(canvas, from, to) {
  const ratio = devicePixelRatio || 1;
  const width = Math.round(canvas.clientWidth * ratio);
  const height = Math.round(canvas.clientHeight * ratio);
  if (!peaks || !width || !height) return;
  canvas.width = width;
  canvas.height = height;
  const pen = canvas.getContext("2d");
  pen.fillStyle = getComputedStyle(canvas).color;
  const first = (from - start) * PEAKS_A_SECOND;
  const each = ((to - from) * PEAKS_A_SECOND) / width;
  let top = 0.02;
  for (let x = 0; x < width; x += 1) top = Math.max(top, loudest(Math.floor(first + x * each), Math.floor(first + (x + 1) * each)));
  for (let x = 0; x < width; x += 1) {
    const found = loudest(Math.floor(first + x * each), Math.floor(first + (x + 1) * each)) / top;
    const tall = Math.max(ratio, found * height * 0.96);
    pen.fillRect(x, (height - tall) / 2, 1, tall);
  }
}

export function drawStrip() {
  draw(document.getElementById("peaks"), start, end);
}

export async function fetchPeaks() {
  if (!has) return;
  const late = setTimeout(() => tell("Drawing the wave form …"), 400);
  const answer = await fetch(`/note/${number}/peaks`);
  clearTimeout(late);
  if (!answer.ok) {
    gone = (await answer.json()).error;
    tell(gone);
    return;
  }
  tell("");
  peaks = new Uint8Array(await answer.arrayBuffer());
  document.body.dataset.peaks = String(peaks.length);
  drawStrip();
}

let again = 0;
addEventListener("resize", () => {
  cancelAnimationFrame(again);
  again = requestAnimationFrame(drawStrip);
});
matchMedia("(prefers-color-scheme: dark)").addEventListener("change", drawStrip);

document.getElementById("wave").addEventListener("click", (event) => {
  const box = event.currentTarget.getBoundingClientRect();
  play(start + ((event.clientX - box.left) / box.width) * (end - start));
});
document.getElementById("play-all").addEventListener("click", () => {
  if (!audio.paused) stop();
  else play(start + (audio.ended ? 0 : audio.currentTime));
});
