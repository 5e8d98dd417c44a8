// What the computer at home tells by itself: the running feed, reminders that are due, and whether it is there at all.
import { part, send } from "./send.js";

const RINGS_MS = 8000;
const AWAY_MS = 3000;
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
  const events = new EventSource("/api/events");
  events.addEventListener("open", () => here(true));
  events.addEventListener("error", () => here(false));
  events.addEventListener("state", refresh);
  events.addEventListener("reminders", (event) => {
    due = JSON.parse(event.data);
    refresh();
    ring();
  });
  document.addEventListener("visibilitychange", () => document.hidden || refresh());
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
  } catch {
    // the line about the lost connection says it
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

function here(is) {
  clearTimeout(away);
  const line = document.getElementById("offline");
  if (is) {
    line.textContent = "";
    return;
  }
  const at = document.querySelector("[data-now]:not(body)")?.dataset.now ?? document.body.dataset.now;
  away = setTimeout(() => { line.textContent = line.dataset.text.replace("{at}", at); }, AWAY_MS);
}
