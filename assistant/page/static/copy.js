// Copy and print. The clipboard's newer way needs an encrypted address; the older one works on the home network.
export function copies() {
  for (const button of document.querySelectorAll(".copy, .print")) button.hidden = false;
  document.addEventListener("click", (event) => {
    const button = event.target.closest("button.copy, button.print");
    if (!button) return;
    if (button.classList.contains("copy")) copy(button);
    else (document.getElementById(button.dataset.frame)?.contentWindow ?? window).print();
  });
  const code = document.getElementById("code");
  if (code && /^#\d+$/.test(location.hash)) {
    code.value = location.hash.slice(1);
    history.replaceState(null, "", location.pathname);
  }
}

async function copy(button) {
  const from = document.getElementById(button.dataset.from);
  try {
    await navigator.clipboard.writeText(from.textContent);
  } catch {
    getSelection().selectAllChildren(from);
    if (!document.execCommand("copy")) return;
  }
  button.parentElement.querySelector(".said").textContent = document.body.dataset.copied;
}
