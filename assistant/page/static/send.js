// One form to the computer at home. Throws where there is no answer, or none in time.
const WAITS_MS = 20000;
const THERE_MS = 4000;

export async function send(path, fields) {
  const stop = new AbortController();
  const timer = setTimeout(() => stop.abort(), WAITS_MS);
  try {
    const answer = await fetch(path, {
      method: "POST",
      headers: { "x-bagside": "part" },
      body: new URLSearchParams(fields),
      signal: stop.signal,
    });
    return { ok: answer.ok, text: await answer.text() };
  } finally {
    clearTimeout(timer);
  }
}

export async function part(path) {
  const answer = await fetch(path, { headers: { "x-bagside": "part" }, signal: AbortSignal.timeout(WAITS_MS) });
  if (!answer.ok) throw Object.assign(new Error(String(answer.status)), { status: answer.status });
  return new DOMParser().parseFromString(await answer.text(), "text/html");
}

// A number for one request: sent again after a lost connection, it is written down once.
export function number() {
  return Array.from(crypto.getRandomValues(new Uint8Array(12)), (b) => b.toString(16).padStart(2, "0")).join("");
}

// Does the computer at home answer?
export async function there() {
  try {
    return (await fetch("/health", { signal: AbortSignal.timeout(THERE_MS) })).ok;
  } catch {
    return false;
  }
}
