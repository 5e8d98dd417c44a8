// A question and its answer in the page. The answer is read out by screen readers (a live region) and scrolled to.
import { refresh } from "./live.js";
import { number, send } from "./send.js";
import { offer } from "./speak.js";

const KEPT = 12;
let last = { text: null, number: null };
let busy = false;

export function asks() {
  const answer = document.getElementById("answer");
  if (!answer) return;
  if (location.pathname === "/ask") history.replaceState(null, "", "/");
  if (answer.firstElementChild) answer.scrollIntoView({ block: "start" });
  document.addEventListener("submit", (event) => {
    const form = event.target;
    if (!form.classList.contains("ask")) return;
    event.preventDefault();
    const box = form.querySelector("textarea, input[name=text]");
    const text = event.submitter?.name === "text" ? event.submitter.value : box?.value ?? "";
    if (text.trim() && !busy) ask(text, box, answer);
    else box?.focus();
  });
  document.getElementById("text").addEventListener("keydown", (event) => {
    if (event.key === "Enter" && !event.shiftKey && !event.isComposing) {
      event.preventDefault();
      event.target.form.requestSubmit();
    }
  });
}

async function ask(text, box, answer) {
  const again = last.text === text && last.failed;
  last = { text, number: again ? last.number : number(), failed: false };
  busy = true;
  answer.setAttribute("aria-busy", "true");
  const within = answer.contains(document.activeElement);
  try {
    const got = await send("/ask", { text, request: last.number });
    const found = new DOMParser().parseFromString(got.text, "text/html");
    const made = found.querySelector(".answer");
    if (got.ok && made) {
      keep(answer);
      answer.replaceChildren(made);
      offer(made);
      if (box) box.value = "";
    } else {
      say(answer, found.querySelector(".lead")?.textContent ?? document.body.dataset.notSent);
    }
    refresh();
  } catch {
    last.failed = true;
    say(answer, document.body.dataset.notSent);
  } finally {
    busy = false;
    answer.removeAttribute("aria-busy");
  }
  const field = answer.querySelector(".field input");
  if (field) field.focus({ preventScroll: true });
  else if (within) answer.focus({ preventScroll: true });
  else if (box && matchMedia("(pointer: coarse)").matches) box.blur();  // the keyboard would hide the answer
  answer.scrollIntoView({ block: "start" });
}

function say(answer, text) {
  keep(answer);
  const line = document.createElement("p");
  line.className = "fault";
  line.textContent = text;
  answer.replaceChildren(line);
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
