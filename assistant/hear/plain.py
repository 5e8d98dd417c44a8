"""Station 2: what was typed or heard, as plain words.

NFKC folds look-alike forms (circled and full-width digits, ligatures); other scripts' digits become 0-9;
typographic quotes, dashes and spaces become the keyboard's; characters that show nothing are taken out, so
that a hidden mark cannot part a word ("br<zero-width>eathe").
"""

from __future__ import annotations

import re
import unicodedata

LONGEST = 20_000  # characters; far more than anyone says at once, short enough to read to the end

_MARKS = str.maketrans({
    "\u2019": "'", "\u2018": "'", "\u02bc": "'", "\u00b4": "'", "`": "'", "\u2032": "'",
    "\u201c": '"', "\u201d": '"', "\u2033": '"',
    "\u2010": "-", "\u2011": "-", "\u2012": "-", "\u2013": "-", "\u2014": " - ", "\u2212": "-",
    "\u2026": "...", "\u00d7": " x ", "\u2044": "/", "\u2215": "/", "\u22c5": " ", "\u00b7": ".",
    "\ufffd": " ",
})


def readable(text: str) -> str:
    """`text` with the mark U+FFFD for a byte that was no text (a lone surrogate): what is said back can be written."""
    return "".join("\ufffd" if "\ud800" <= mark <= "\udfff" else mark for mark in text)


def plain(text: str) -> str:
    """`text` in plain characters, one space between words, case kept. Never fails; may be empty."""
    text = text.translate(_MARKS)                     # before NFKC, which would part an acute accent from its space
    text = re.sub(r"(?<=\d)(?=[\u00bc-\u00be\u2150-\u215e])", " ", text)   # "1½" is one and a half, not 11/2
    text = unicodedata.normalize("NFKC", text).translate(_MARKS)
    kept = []
    for mark in text[:LONGEST]:
        kind = unicodedata.category(mark)
        if (digit := unicodedata.digit(mark, None)) is not None:  # of any script, and circled twice
            kept.append(str(digit))
        elif kind == "Cf":
            continue
        elif kind in ("Cc", "Zs", "Zl", "Zp", "Co", "Cs", "Cn"):
            kept.append(" ")
        else:
            kept.append(mark)
    return re.sub(r"\s+", " ", "".join(kept)).strip()
