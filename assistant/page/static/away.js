// For the time when the computer at home cannot be reached: the service worker where browsers run one (this computer, or
// HTTPS); elsewhere the open page is all there is, so that it is not left for one that would not open.
import { here } from "./live.js";
import { there } from "./send.js";

export function away() {
  const line = document.getElementById("offline");
  if (!line) return;
  if (navigator.serviceWorker) {
    navigator.serviceWorker.register("/worker.js", { updateViaCache: "none" }).catch(() => {});
  } else {
    line.dataset.text += ` ${line.dataset.openOnly}`;
    document.addEventListener("click", stay);
  }
  const back = document.getElementById("back");
  if (back) document.addEventListener("here", (event) => { back.textContent = event.detail ? back.dataset.text : ""; });
}

async function stay(event) {
  const link = event.target.closest('a[href^="/"]');
  if (!link || event.defaultPrevented || event.ctrlKey || event.metaKey || event.shiftKey) return;
  event.preventDefault();
  if (await there()) location.assign(link.href);
  else here(false, document.getElementById("offline").dataset.notOpened);
}
