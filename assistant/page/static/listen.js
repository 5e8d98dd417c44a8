// The microphone, where this phone itself makes words of what it hears. They are put in the box and never sent by
// themselves: one recogniser mistakes numbers without knowing it, so a person reads them first.
import { localRecogniser } from "./local_voice.js";

export async function hears() {
  const button = document.getElementById("mic");
  const recogniser = button && await localRecogniser();
  if (!recogniser) return;
  button.hidden = false;
  let on = false;
  button.addEventListener("click", () => {
    if (on) return recogniser.stop();
    speechSynthesis?.cancel();  // it would hear itself
    try {
      recogniser.start();
      set(true);
    } catch {
      tell("nothing");
    }
  });
  recogniser.addEventListener("result", (event) => put([...event.results].map((one) => one[0].transcript).join(" ")));
  recogniser.addEventListener("nomatch", () => tell("nothing"));
  recogniser.addEventListener("error", () => tell("nothing"));
  recogniser.addEventListener("end", () => set(false));

  function set(now) {
    on = now;
    button.textContent = on ? button.dataset.stop : button.dataset.start;
    if (on) tell("listening");
    else if (document.getElementById("heard").dataset.said === "listening") tell("nothing");
  }
}

function put(words) {
  const box = document.getElementById("text");
  if (!words.trim()) return tell("nothing");
  box.value = [box.value.trim(), words.trim()].filter(Boolean).join(" ");
  tell("check");
  box.focus();
}

function tell(what) {
  const line = document.getElementById("heard");
  line.dataset.said = what;
  line.textContent = line.dataset[what];
}
