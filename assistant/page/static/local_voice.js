// What the browser speaks and hears with on this phone alone. Where it does not say that nothing is sent away, the
// answer is no, and the button is not there.

// A voice that lives on this phone, or null. Others send the words to their maker.
export function localVoice() {
  const voices = globalThis.speechSynthesis?.getVoices() ?? [];
  return voices.find((one) => one.localService === true && /^en\b/i.test(one.lang)) ?? null;
}

export function language() {
  return /^en\b/i.test(navigator.language ?? "") ? navigator.language : "en-US";
}

// A recogniser that works on this phone and is there already, or null. Nothing is ever fetched for it.
export async function localRecogniser() {
  const Kind = globalThis.SpeechRecognition ?? globalThis.webkitSpeechRecognition;
  if (!globalThis.isSecureContext || typeof Kind?.available !== "function") return null;
  if (!("processLocally" in Kind.prototype)) return null;
  try {
    const found = await Kind.available({ langs: [language()], processLocally: true });
    if (found !== "available") return null;
    const made = new Kind();
    made.lang = language();
    made.processLocally = true;
    return made.processLocally === true ? made : null;
  } catch {
    return null;
  }
}
