// The switch between day and night colours, without loading the page again. The choice is kept in a cookie.
import { send } from "./send.js";

export function colours() {
  const form = document.querySelector("form.colours");
  form?.addEventListener("submit", (event) => {
    if (!event.submitter) return;
    event.preventDefault();
    const chosen = event.submitter.value;
    document.documentElement.dataset.colours = chosen;
    form.querySelector(chosen === "night" ? ".to-day" : ".to-night").focus();
    send("/colours", { colours: chosen }).catch(() => {});  // the choice then holds for this page only
  });
}
