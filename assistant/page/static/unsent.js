// What was asked while the computer at home was away: kept on this phone, shown, and never sent by itself, since the
// "just now" in it would mean another time. Nobody but the carer takes it out of the list, or its own answer.
const NAME = "bagside-unsent";
let memory = [];  // where this browser keeps nothing

export function unsents() {
  show();
  addEventListener("storage", show);
  document.addEventListener("click", (event) => {
    const button = event.target.closest("#unsent button");
    if (!button) return;
    const one = kept().find((entry) => entry.number === button.closest("li").dataset.number);
    if (!one) return;
    if (button.classList.contains("drop")) drop(one.number);
    else putBack(one);
  });
  document.addEventListener("submit", (event) => {
    if (!event.target.classList.contains("keep")) return;
    event.preventDefault();
    const box = document.getElementById("text");
    if (!box.value.trim()) return;
    keep(box.value, numberIn(box, box.value) ?? crypto.getRandomValues(new Uint32Array(3)).join("-"));
    empty(box);
  });
}

export function keep(text, number) {
  if (kept().some((one) => one.number === number)) return;
  store([...kept(), { text, number, at: new Date().toISOString() }]);
}

export function drop(number) {
  const left = kept().filter((one) => one.number !== number);
  if (left.length < kept().length) store(left);
}

// The number of the entry that was put back in the box and is asked as it stood: should it have arrived after all, the
// computer at home then gives its answer again and writes nothing twice.
export function numberIn(box, text) {
  const number = box?.dataset.unsent;
  return kept().find((one) => one.number === number && one.text === text)?.number ?? null;
}

export function empty(box) {
  box.value = "";
  delete box.dataset.unsent;
}

function putBack(one) {
  const box = document.getElementById("text");
  if (box.value.trim() && box.value !== one.text) keep(box.value, String(Date.now()));
  box.value = one.text;
  box.dataset.unsent = one.number;
  box.focus();
}

function kept() {
  try {
    const found = JSON.parse(localStorage.getItem(NAME));
    return Array.isArray(found) ? found : memory;
  } catch {
    return memory;
  }
}

function store(list) {
  memory = list;
  try {
    localStorage.setItem(NAME, JSON.stringify(list));
  } catch {
    // the list then lives as long as the page is open
  }
  show();
}

function show() {
  const section = document.getElementById("unsent");
  if (!section) return;
  const pattern = section.querySelector("template");
  section.querySelector("ul").replaceChildren(...kept().map((one) => {
    const made = pattern.content.cloneNode(true).firstElementChild;
    const at = new Date(one.at).toLocaleString([], { weekday: "short", hour: "2-digit", minute: "2-digit" });
    made.dataset.number = one.number;
    made.querySelector(".text").textContent = one.text;
    made.querySelector(".at").textContent = section.dataset.at.replace("{at}", at);
    return made;
  }));
  section.hidden = !kept().length;
}
