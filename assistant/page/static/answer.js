// Where answers stand: the newest in the live region, those before it folded below it.
import { offer } from "./speak.js";

const KEPT = 12;

export function place() {
  return document.getElementById("answer");
}

// Show the answer in what the computer at home sent. A refusal is said instead: then false.
export function put(got) {
  const found = new DOMParser().parseFromString(got.text, "text/html");
  const made = found.querySelector(".answer");
  if (!got.ok || !made) {
    say(found.querySelector(".lead")?.textContent ?? document.body.dataset.notSent);
    return false;
  }
  const answer = place();
  if (answer) {
    keep(answer);
    answer.replaceChildren(made);
    offer(made);
  }
  return true;
}

// A line of ours above the answer, which keeps its buttons: they can be pressed again.
export function say(text, kind = "fault") {
  const line = document.createElement("p");
  line.className = kind;
  line.textContent = text;
  const within = place() ?? document.getElementById("main");
  if (within !== place()) line.setAttribute("role", "alert");  // the answer's place is a live region already
  within.querySelector(":scope > .fault, :scope > .sending")?.remove();
  within.prepend(line);
}

// The answer before goes below, without its buttons: they belong to what was asked then.
function keep(answer) {
  const old = answer.querySelector(".answer");
  if (!old) return;
  const earlier = document.getElementById("earlier");
  for (const one of old.querySelectorAll("form, .read")) one.remove();
  earlier.hidden = false;
  const list = earlier.querySelector("div");
  list.prepend(old);
  while (list.children.length > KEPT) list.lastElementChild.remove();
}
