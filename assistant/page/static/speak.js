// "Read aloud", only with a voice that lives in this phone: nothing said here leaves the house.
const speech = window.speechSynthesis;

function voice() {
  return speech?.getVoices().find((one) => one.localService && one.lang.startsWith("en"));
}

export function offer(within) {
  const button = within.querySelector(".read");
  if (!button || !voice()) return;
  button.hidden = false;
  button.addEventListener("click", () => {
    const words = new SpeechSynthesisUtterance(within.dataset.speech);
    words.voice = voice();
    speech.cancel();
    speech.speak(words);
  });
}

export function speaks() {
  const all = () => document.querySelectorAll("#answer .answer").forEach((one) => {
    if (one.querySelector(".read")?.hidden) offer(one);
  });
  all();
  speech?.addEventListener?.("voiceschanged", all);
}
