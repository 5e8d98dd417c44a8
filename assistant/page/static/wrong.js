// "Something is wrong": the list is in the page already, so it opens without a connection. A card that is opened is
// told to the conversation as if it had been said, so that what is asked next is understood.
import { place, put } from "./answer.js";
import { send } from "./send.js";

let untold = null;

export function wrong() {
  document.addEventListener("click", (event) => {
    const card = event.target.closest("summary")?.closest("details.card");
    if (!card || card.open) return;
    untold = card.dataset.card;
    tellOpened().catch(() => {});  // told before the next question instead
  });
  const open = document.getElementById("wrong-open");
  const dialog = document.getElementById("wrong");
  if (!open || !dialog?.showModal) return;
  open.setAttribute("role", "button");
  open.addEventListener("click", (event) => {
    event.preventDefault();
    dialog.showModal();
    dialog.scrollTop = 0;
  });
  open.addEventListener("keydown", (event) => {
    if (event.key === " ") {
      event.preventDefault();
      open.click();
    }
  });
  for (const button of dialog.querySelectorAll("#wrong-close, .close-long")) {
    button.addEventListener("click", () => dialog.close());
  }
}

// Tell the card that was opened last, if it was not told yet. Throws where there is no connection.
export async function tellOpened() {
  const card = untold;
  if (!card) return;
  const got = await send("/opened", { card });
  if (untold === card) untold = null;
  if (put(got)) place()?.scrollIntoView({ block: "start" });
}

// Without a connection the button of a danger opens its card.
export function openAt(name) {
  const dialog = document.getElementById("wrong");
  const card = dialog?.querySelector(`details.card[data-card^="${name}"]`);
  if (!card) return;
  untold = card.dataset.card;
  if (dialog.showModal && !dialog.open) dialog.showModal();
  card.open = true;
  card.querySelector("summary").focus();
}
