"""Station 2: what was typed or heard, as plain words.

NFKC folds look-alike forms (circled and full-width digits, ligatures); other scripts' digits become 0-9;
typographic quotes, dashes and spaces become the keyboard's; characters that show nothing are taken out, so
that a hidden mark cannot part a word ("br<zero-width>eathe"). Spellings of a dialect become the everyday word.
"""

from __future__ import annotations

import re
import unicodedata
from functools import cache

from assistant.hear.misspelt import without_manners, without_slips
from knowledge.library import table

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
    return _everyday(re.sub(r"\s+", " ", "".join(kept)).strip())


_WORD = re.compile(r"(?<![\w'])[A-Za-z]+(?:'[a-z]+)?(?![\w'])")
_UNITS = ["zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine"]
_TEENS = ["thirteen", "fourteen", "fifteen", "sixteen", "seventeen", "eighteen", "nineteen"]
_TENS = ["twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"]
#: a number with its digits after it ("sixty six zero"), as it is asked back and often answered: said once
_SPELT = {f"{word} one {_UNITS[n]}": word for n, word in enumerate(_TEENS, 3)} | {
    f"{word} {_UNITS[n]} {last}": word for n, word in enumerate(_TENS, 2) for last in ("zero", "oh")
}
_SPELT_OUT = re.compile(rf"\b(?:{'|'.join(_SPELT)})\b", re.IGNORECASE)
_TONIGHT = re.compile(r"(\b(?:\d{1,2}(?:[:.]\d\d)?|one|two|three|four|five|six|seven|eight|nine|ten|eleven|twelve"
                      r"|o'?clock)) the (?:night|nicht)\b(?!\s+(?:feed|one|yin|bag|before))", re.IGNORECASE)


#: "the morning one half nine": "one" is the feed, and the hour comes after it
_THAT_ONE = re.compile(
    r"(\b(?:morning|night|evening|afternoon|midday|noon|day|overnight|teatime|lunch|breakfast|supper|bedtime|first|last|"
    r"next|other|long|late) one)(?= (?:half|quarter) (?!of\b))", re.IGNORECASE
)
#: "there is twenty minutes he was sick", "it makes an hour that I stopped it": so long ago; "in 8 and 50 of the night",
#: "sorry, 8 and 15" with nothing after it: an hour and its minutes
_SINCE = re.compile(
    r"\b(?:there (?:is|are)|there's|it makes|makes already) (?:about |already )?"
    r"((?:[\w.]+ ){1,3}?(?:minutes?|mins?|hours?))(?: that| since| already)?"
    r"(?= (?:he|she|it|i|we|they|the (?:feed|pump))\b)", re.IGNORECASE)
_HOUR_AND = re.compile(
    r"(?:(?<!put )(?<!went )(?<!goes )(?<!poured )\bin|(?<=sorry,)|(?<=sorry)) (1[0-2]|[1-9]) and ([0-5][05])"
    r"(?= (?:of|in) the (?:night|morning|evening|afternoon)| at night| ?[.!,;]|$)", re.IGNORECASE)


#: "the machine makes 72 for one hour": a rate; "400 through in the hour": within one
_FOR_ONE_HOUR = re.compile(
    r"(\b(?:machine|pump|it|speed|rate)(?:'s| is)? (?:set |now )?"
    r"(?:(?:to|at|on|make|makes|making|give|gives|giving|go|goes"
    r"|going|run|runs|running|do|does|doing|send|sends|put|puts) )?\d+(?:\.\d+)?(?: ?(?:mls?|millilit(?:er|re)s?))?)"
    r" (?:for|in|on|at) (?:one|1|each|every|the) hour\b", re.IGNORECASE)
_IN_THE_HOUR = re.compile(
    r"(\d(?: ?mls?)?(?: (?:through|in|down|of (?:it|feed)))?) (?:in|over) (?:the|one single) hour\b", re.IGNORECASE)


#: "six hourly": every six hours, and no rate of six
_SO_MANY_HOURLY = re.compile(
    r"(?<!\d )(?<!point )\b(2|3|4|6|8|12|two|three|four|six|eight|twelve)[ -]hourly\b", re.IGNORECASE)


#: "off midnight to one otherwise": from one time of day to the next, no "one" that stands for a thing
_TO_ONE = re.compile(
    r"\b((?:midnight|noon|eleven|twelve|\d{1,2}[:.]\d\d|half (?:ten|eleven|twelve)|quarter (?:to|past) \w+)"
    r" (?:to|till|til|until)) one\b(?! (?:of|hundred|day|night|side|or|more|thousand|feed|bag|thing))", re.IGNORECASE)


#: "bump it up 2 72": to
_TO_AS_2 = re.compile(
    r"\b((?:bump|turn|put|knock|drop|go|up|down|from \d+)(?: \w+)? (?:up |down )?)2 (?=\d{2,3}\b)", re.IGNORECASE)


#: "4 fifty left": a digit before a word of tens is the word itself, so that both are one number
_DIGIT_AND_TENS = re.compile(rf"(?<![\d.:/] )\b([1-9]) (?=(?:ten|{'|'.join(_TENS)})\b)", re.IGNORECASE)


#: "off 1115-1150", as nurses write it: from one time of day to the other
_OFF_TO = re.compile(
    r"(?<![\d.:/-])([01]\d|2[0-3])([0-5]\d) ?(?:-|to|til|till) ?([01]\d|2[0-3])([0-5]\d)(?![\d.:/-]| ?m[lL])")


#: "went on at twenty of nine": to
_OF_AN_HOUR = re.compile(
    r"(\b(?:at|since|about|around|till|until|til|by|from|it's|its|is|before|after|was) (?:about |around |nearly |a )?"
    r"(?:five|ten|twenty|quarter|twenty[- ]five)) of (?=(?:one|two|three|four|five|six|seven|eight|nine|ten|eleven"
    r"|twelve|1[0-2]|[1-9])\b(?! ?(?:m[lL]|feeds?|bags?|cartons?|them|those)))", re.IGNORECASE)


@cache
def _phrases() -> re.Pattern[str]:
    longest_first = sorted(table("dialect_en")["phrases"], key=len, reverse=True)
    return re.compile(rf"(?<![\w'])(?:{'|'.join(map(re.escape, longest_first))})(?![\w'])", re.IGNORECASE)


_SPANS = {"7": "days", "52": "weeks", "12": "months"}
#: a nurse's "2/7", "3/52", "8/12 old": days, weeks, months; without a word for a span beside it, it may be a date
_SHORT_SPAN = re.compile(
    r"(?<![\d/.])(?:(?<=for )|(?<=past )|(?<=last )|(?<=next )|(?<=x)|(?<=x )"
    r"|(?=\d{1,2}/(?:7|12|52) (?:ago|old|of|hx|history|hist|post|since|supply|worth)\b)|(?=\d{1,2}/52\b))"
    r"(\d{1,2})/(7|12|52)(?![\d/])"
)


def _everyday(text: str) -> str:
    """ "Frae half nine tae the noo" is "from half nine to now" (knowledge/dialect_en.toml)."""
    words, phrases = table("dialect_en")["words"], table("dialect_en")["phrases"]
    text = _THAT_ONE.sub(r"\1,", text)
    text = _TONIGHT.sub(r"\1 tonight", text)
    text = _SINCE.sub(r"\1 ago", text)
    text = _HOUR_AND.sub(r"at \1:\2", text)
    text = _TO_AS_2.sub(r"\1to ", text)
    text = _OF_AN_HOUR.sub(r"\1 to ", text)
    text = _OFF_TO.sub(r"\1:\2 to \3:\4", text)
    text = _DIGIT_AND_TENS.sub(lambda met: f"{_UNITS[int(met[1])]} ", text)
    text = _SO_MANY_HOURLY.sub(r"every \1 hours", text)
    text = _SHORT_SPAN.sub(lambda met: f"{met[1]} {_SPANS[met[2]]}", text)
    text = _TO_ONE.sub(r"\1 1 o'clock", text)
    text = _FOR_ONE_HOUR.sub(r"\1 an hour", text)
    text = _IN_THE_HOUR.sub(r"\1 over 1 hour", text)
    text = _WORD.sub(lambda m: words.get(m.group().lower(), m.group()), text)
    if "zero" in text or " one " in text or " oh" in text:
        text = _SPELT_OUT.sub(lambda m: _SPELT[m.group().lower()], text)
    return without_manners(without_slips(_phrases().sub(lambda m: phrases[m.group().lower()], text)))
