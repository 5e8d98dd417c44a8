// Answers read aloud, only with a voice that lives on this phone: at each answer's own button, or all of them by a
// switch that is remembered and off at first. One tap stops.
import { localVoice } from "./local_voice.js";

const NAME = "bagside-aloud";
const speech = globalThis.speechSynthesis;
let session = null;  // the choice where this browser keeps nothing

export function speaks() {
  const toggle = document.getElementById("aloud");
  toggle?.addEventListener("click", () => {
    choose(!chosen());
    if (!chosen()) hush();
    show();
  });
  document.addEventListener("click", (event) => {
    const button = event.target.closest(".answer .read, .hush");
    if (!button) return;
    if (button.dataset.on || button.classList.contains("hush")) hush();
    else read(button.closest(".answer"));
  });
  document.addEventListener("submit", hush);
  document.addEventListener("keydown", (event) => event.key === "Escape" && hush());
  addEventListener("pagehide", hush);
  speech?.addEventListener?.("voiceschanged", show);
  show();
}

// A new answer: its button, and its voice where the switch is on.
export function offer(answer) {
  show();
  if (chosen()) read(answer);
}

function read(answer) {
  const voice = localVoice();
  if (!voice) return;
  hush();
  const words = new SpeechSynthesisUtterance(answer.dataset.speech);
  words.voice = voice;
  words.lang = voice.lang;
  const button = answer.querySelector(".read");
  words.onend = words.onerror = () => mark(button, false);
  mark(button, true);
  speech.speak(words);
}

function hush() {
  for (const button of document.querySelectorAll(".read[data-on]")) mark(button, false);
  speech?.cancel();
}

function mark(button, on) {
  button.textContent = on ? button.dataset.stop : button.dataset.read;
  if (on) button.dataset.on = "on";
  else delete button.dataset.on;
  for (const one of document.querySelectorAll(".hush")) one.hidden = !on;  // in the list, which stands over the answer
}

function show() {
  const there = localVoice() !== null;
  for (const button of document.querySelectorAll("#answer .read")) button.hidden = !there;
  const toggle = document.getElementById("aloud");
  if (!toggle) return;
  toggle.hidden = !there;
  toggle.setAttribute("aria-checked", String(chosen()));
  toggle.querySelector("span").textContent = chosen() ? toggle.dataset.on : toggle.dataset.off;
}

function chosen() {
  try {
    return localStorage.getItem(NAME) === "on";
  } catch {
    return session === true;
  }
}

function choose(on) {
  session = on;
  try {
    localStorage.setItem(NAME, on ? "on" : "off");
  } catch {
    // it then holds until the page is left
  }
}
