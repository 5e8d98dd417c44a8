// "Something is wrong": the list is in the page already, so it opens without a connection.
export function wrong() {
  const open = document.getElementById("wrong-open");
  const dialog = document.getElementById("wrong");
  if (!open || !dialog || !dialog.showModal) return;
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
