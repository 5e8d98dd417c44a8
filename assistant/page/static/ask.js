// A question and its answer in the page. The answer is read out by screen readers (a live region) and scrolled to.
import { place, put, say } from "./answer.js";
import { refresh } from "./live.js";
import { number, send } from "./send.js";
import * as unsent from "./unsent.js";
import { openAt, tellOpened } from "./wrong.js";

const AGAIN_MS = 120000;  // the same words within this time are the same request; later they may be another flush
const SLOW_MS = 1500;
let last = { text: null, number: null, at: 0 };
let busy = false;

export function asks() {
  if (location.pathname === "/ask") history.replaceState(null, "", "/");
  if (place()?.firstElementChild) place().scrollIntoView({ block: "start" });
  document.addEventListener("submit", (event) => {
    const form = event.target;
    if (!form.classList.contains("ask")) return;
    event.preventDefault();
    const box = form.querySelector("textarea, input[name=text]");
    const button = event.submitter?.name === "text" ? event.submitter : null;
    const text = button?.value ?? box?.value ?? "";
    if (text.trim() && !busy) ask(text, { box, button, form });
    else box?.focus();
  });
  document.getElementById("text")?.addEventListener("keydown", (event) => {
    if (event.key === "Enter" && !event.shiftKey && !event.isComposing) {
      event.preventDefault();
      event.target.form.requestSubmit();
    }
  });
}

async function ask(text, from) {
  const answer = place();
  const again = last.failed && last.text === text && Date.now() - last.at < AGAIN_MS;
  last = { text, number: again ? last.number : unsent.numberIn(from.box, text) ?? number(), at: Date.now() };
  busy = true;
  answer?.setAttribute("aria-busy", "true");
  const within = answer?.contains(document.activeElement);
  const slow = setTimeout(() => say(document.body.dataset.sending, "sending"), SLOW_MS);
  try {
    await tellOpened();
    const got = await send("/ask", { text, request: last.number });
    if (put(got)) answered(from.box);
    refresh();
  } catch {
    last.failed = true;
    failed(text, from);
  } finally {
    clearTimeout(slow);
    busy = false;
    answer?.removeAttribute("aria-busy");
  }
  if (answer) look(answer, from.box, within);
}

function answered(box) {
  unsent.drop(last.number);
  if (box) unsent.empty(box);
  if (!place()) location.assign("/");  // the answer stands there
}

// No answer came. What was typed or pressed is kept as unsent, except where its buttons still stand beside it.
function failed(text, { box, button, form }) {
  if (button?.dataset.card) {
    say(document.body.dataset.notNow);
    openAt(button.dataset.card);
    return;
  }
  if (form.closest("#answer")) {
    say(document.body.dataset.notNow);
    return;
  }
  unsent.keep(text, last.number);
  if (box) unsent.empty(box);
  say(document.body.dataset.notSent);
}

function look(answer, box, within) {
  const field = answer.querySelector(".field input");
  if (field) field.focus({ preventScroll: true });
  else if (within) answer.focus({ preventScroll: true });
  else if (box && matchMedia("(pointer: coarse)").matches) box.blur();  // the keyboard would hide the answer
  answer.scrollIntoView({ block: "start" });
}
