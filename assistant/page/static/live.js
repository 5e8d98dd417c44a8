// What the computer at home tells by itself: the running feed, reminders that are due, and whether it is there at all.
import { part, send } from "./send.js";

const RINGS_MS = 8000;
const AWAY_MS = 3000;
const QUIET_MS = 50000;  // the server sends a beat every 15 s
const ANEW_MS = 10000;
let events = null;
let quiet = null;
let anew = null;
let due = [];
let sound = null;
let ringing = null;
let away = null;
const title = document.title;

export function listens() {
  for (const kind of ["pointerdown", "keydown"]) document.addEventListener(kind, unlock, { once: true });
  document.addEventListener("submit", (event) => {
    if (!event.target.classList.contains("due")) return;
    event.preventDefault();
    seen(event.target);
  });
  if (!document.getElementById("offline")) return;
  begin();
  addEventListener("online", begin);
  document.addEventListener("visibilitychange", () => document.hidden || refresh());
}

// A phone that has left the house gets no word that the connection is gone: silence says it.
function begin() {
  clearTimeout(anew);
  events?.close();
  events = new EventSource("/api/events");
  for (const kind of ["open", "beat", "state", "reminders"]) events.addEventListener(kind, beat);
  events.addEventListener("error", () => {
    here(false);
    if (events.readyState === EventSource.CLOSED) anew = setTimeout(begin, ANEW_MS);
  });
  events.addEventListener("state", refresh);
  events.addEventListener("reminders", (event) => {
    due = JSON.parse(event.data);
    refresh();
    ring();
  });
}

function beat() {
  here(true);
  clearTimeout(quiet);
  quiet = setTimeout(() => {
    here(false);
    begin();
  }, QUIET_MS);
}

// Put the strip and the buttons as they are now in the place of what is shown; the focus stays where it was.
export async function refresh() {
  if (!document.getElementById("strip")) return notice();
  try {
    const found = await part("/strip");
    for (const id of ["strip", "write"]) {
      const old = document.getElementById(id);
      const made = found.getElementById(id);
      if (!old || !made || old.innerHTML === made.innerHTML) continue;
      const says = old.contains(document.activeElement) ? document.activeElement.value : null;
      old.replaceWith(made);
      if (says) [...made.querySelectorAll("button")].find((one) => one.value === says)?.focus();
    }
  } catch (fault) {
    if (!fault.status) here(false);
  }
}

async function seen(form) {
  due = due.filter((one) => one.id !== form.dataset.id);
  ring();
  try {
    await send("/seen", { id: form.dataset.id });
  } catch {
    // it rings again once the connection is back
  }
  await refresh();
  document.getElementById("main").focus();
}

// On a page without the strip: one line that leads to it.
function notice() {
  document.getElementById("due")?.remove();
  if (!due.length) return;
  const line = document.createElement("p");
  const link = document.createElement("a");
  line.id = "due";
  line.className = "due";
  line.setAttribute("role", "alert");
  link.href = "/";
  link.textContent = due.map((one) => one.text).join(" ");
  line.append(link);
  document.getElementById("main").prepend(line);
}

function ring() {
  clearInterval(ringing);
  document.title = due.length ? `${document.body.dataset.due}: ${due[0].text}` : title;
  document.documentElement.toggleAttribute("data-ringing", due.length > 0);
  if (!due.length) return;
  tone();
  ringing = setInterval(tone, RINGS_MS);
}

function unlock() {
  sound ??= new (window.AudioContext ?? window.webkitAudioContext)();
  sound.resume?.();
}

// Three soft tones; louder each time would frighten a sleeping child.
function tone() {
  if (navigator.userActivation?.hasBeenActive) navigator.vibrate?.([300, 150, 300]);
  if (!sound) return;
  for (const [n, pitch] of [523, 659, 784].entries()) {
    const at = sound.currentTime + n * 0.35;
    const voice = sound.createOscillator();
    const loud = sound.createGain();
    voice.frequency.value = pitch;
    loud.gain.setValueAtTime(0.0001, at);
    loud.gain.exponentialRampToValueAtTime(0.4, at + 0.05);
    loud.gain.exponentialRampToValueAtTime(0.0001, at + 0.3);
    voice.connect(loud).connect(sound.destination);
    voice.start(at);
    voice.stop(at + 0.32);
  }
}

// Is the computer at home there? If not, the page says so, with the time of what it shows, or with `words` at once.
export function here(is, words) {
  const line = document.getElementById("offline");
  document.dispatchEvent(new CustomEvent("here", { detail: is }));
  if (is || words) {
    clearTimeout(away);
    away = null;
    line.textContent = words ?? "";
    return;
  }
  const at = document.querySelector("[data-now]:not(body)")?.dataset.now ?? document.body.dataset.now;
  away ??= setTimeout(() => { line.textContent = line.dataset.text.replace("{at}", at); }, AWAY_MS);
}
