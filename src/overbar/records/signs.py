"""The signs of the trade's shorthand: one line of a message cut into named pieces.

Pure. Every character of the line ends in a piece; what is no known sign, exercise
or place that hurts is a ``word``.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any

from overbar.ladder import Ladder
from overbar.records.pieces import BODY_MASS_KG
from overbar.units import kg_from_lb

_NUM = r"\d{1,4}(?:[.,]\d{1,3})?"
_UNIT = r"(?:kgs?|kilos?|lbs?|pounds?|\#)"
_WATER = r"l(?:it(?:re|er)s?)?"
_HOURS = r"\d{1,2}(?:[.,:]\d{1,2})?"
_BODY = r"(?:bm|bw|body\s?-?mass|body\s?-?weight)"
_LEFT = (
    r"(?:(?:reps?\s+)?in\s+reserve|in\s+the\s+tank|(?:reps?\s+)?left(?:\s+in\s+the\s+tank)?|more\s+in\s+me)"
)
_AFTER_LIST = (
    r"(?![\w]|\s*[x*]\s*\d|\.\d|\s*/\s*10\b|\s*(?:kg|lb|left|sets?|min|reps?\s+(?:left|in))\b"
    r"|\s*rir\b(?!\s*[:=]?\s*\d))"
)
_BETWEEN = r"(?:\s*,\s*|\s*/\s*|\s+|\s?-\s?)"
_WHOSE = r"(?:(?:the\s+)?(?:last|first|second|third|every|each|all|most)\s+(?:one|reps?|sets?|of\s+them)\s+)"
_SOFT = r"(?:(?:was|were|felt|is|an?|bit|really|very|pretty|quite|so|too|got)\s+)"

_SIGNS: tuple[tuple[str, tuple[str, ...]], ...] = (
    ("gap", (r"[\s.:]+",)),
    ("stop", (r"[,;|·•()!]|(?:then|and|but)\b|&",)),
    (
        "rest",
        (
            r"\d+(?:[.,]\d+)?\s*(?:s|sec|min|minutes?|')\s*rests?\b",
            r"rest(?:s|ed)?\s*:?\s*\d+(?:[.,]\d+)?\s*(?:seconds|secs?|s|minutes?|min|m|'|\")?(?!\w)",
        ),
    ),
    (
        "sleep",
        (
            rf"(?:sleep|slept|sleeping)\s*(?:about|only|was|=)?\s*:?\s*~?\s*(?P<a>{_HOURS})"
            r"\s*(?:(?:hours?|hrs?|h)\s*(?P<m>\d{1,2})?\s*(?:minutes?|mins?|m)?)?(?!\w)",
            rf"(?P<a>{_HOURS})\s*(?:hours?|hrs?|h)\s*(?:of\s*)?(?:sleep|slept)(?!\w)",
        ),
    ),
    (
        "mass",
        (
            rf"(?P<k>{_BODY}|weight|weighed|weigh-in|scales?)\s*(?:today|was|is|at|=|in)?\s*:?\s*"
            rf"(?P<a>{_NUM})\s*(?P<u>{_UNIT})?(?![\w]|\s*[x*]\s*\d|[ ,/-]\s*\d)",
            rf"(?P<a>{_NUM})\s*(?P<u>{_UNIT})\s*{_BODY}(?!\w)",
        ),
    ),
    (
        "effort",
        (
            r"(?:session\s*)?(?:effort|srpe|session\s+rpe)\s*(?:was|=)?\s*:?\s*(?P<a>\d{1,2}(?:[.,]5)?)(?:\s*/\s*10)?(?!\w)",
        ),
    ),
    ("speed", (rf"(?P<a>{_NUM})\s*m/s(?:ec)?(?!\w)",)),
    (
        "rir",
        (
            r"(?:rir|reps?\s+in\s+reserve|in\s+reserve)\s*(?:of|=)?\s*:?\s*"
            r"(?P<a>\d{1,2}(?:\.5)?(?:-\d{1,2})?(?:(?:\s*[,/]\s*|\s+)\d{1,2}(?!\w|\.\d|\s*(?:[x*]|sets?\b)))*)"
            r"(?!\w)(?:\s+(?:on|in|for)\s+(?:the\s+)?last(?:\s+(?:one|set))?)?",
            rf"@?\s*(?P<a>\d{{1,2}}(?:-\d{{1,2}})?)\s*(?:rir(?!\s*[:=]?\s*\d)|{_LEFT})(?!\w)",
        ),
    ),
    ("rpe", (r"@?\s*rpe\s*(?:=|of)?\s*:?\s*(?P<a>\d{1,2}(?:[.,]5)?)(?!\w)",)),
    (
        "morning",
        (
            r"(?:the\s+)?(?:(?:next|this|following)\s+morning|morning\s+after|next\s+day)"
            r"\s*(?:was|is|pain|=|still)?\s*:?\s*(?P<a>\d{1,2}(?:[.,]5)?)(?:\s*/\s*10)?(?!\w)",
        ),
    ),
    ("then", (r"(?:the\s+)?(?:(?:next|this|following)\s+morning|morning\s+after|next\s+day)(?!\w)",)),
    (
        "night",
        (r"(?:woke\s+me(?:\s+up)?|woken\s+(?:up\s+)?by\s+it|(?:pain\s+)?at\s+night|night\s+pain)(?!\w)",),
    ),
    ("list", (r"(?P<a>\d{1,3}(?:\s*/\s*\d{1,3}){2,})(?!\w|\.\d)",)),
    ("score", (r"(?:\d{1,2}\s*(?:-|to)\s*)?(?P<a>\d{1,3}(?:[.,]\d)?)\s*(?:/|out\s+of)\s*10(?!\w)",)),
    (
        "tries",
        (
            r"(?P<b>\d{1,2})\s*(?:tries|attempts|goes)\s*,?\s*(?P<a>\d{1,2})\s*"
            r"(?:good|valid|made|clean|over|successful)(?!\w)",
            r"(?P<a>\d{1,2})\s*(?:/|of|out\s+of|from)\s*(?P<b>\d{1,2})(?!\w|\s*/)",
        ),
    ),
    ("since", (r"since\s+(?:mon|tues|wednes|thurs|fri|satur|sun|yester)day(?!\w)",)),
    ("day", (r"(?:on\s+)?(?P<a>(?:mon|tues|wednes|thurs|fri|satur|sun|yester)day)(?:'s)?(?!\w)",)),
    ("missed", (r"(?:missed|skipped|no)\s+(?:session\s+|day\s+)?(?P<a>[a-d])(?:\s+(?:day|session))?(?!\w)",)),
    (
        "session",
        (
            r"(?:session|day)\s+(?P<a>[a-d])\b",
            r"(?P<a>[a-d])[\s-](?:day|session)\b",
            r"(?-i:(?P<a>[A-D]))(?=\s*[:)])",
        ),
    ),
    (
        "band",
        (
            rf"(?:with\s+|@\s*)?-?\s?(?P<a>{_NUM})\s*(?P<u>{_UNIT})\s*(?:of\s+)?band(?:\s+help)?(?!\w)",
            rf"(?:with\s+|@\s*)?(?P<n>[a-z][a-z ]*?\s)?band(?:\s+help)?\s*(?:of|=|-)?\s*:?\s*"
            rf"(?:(?P<a>{_NUM})\s*(?P<u>{_UNIT}))?(?!\w)",
        ),
    ),
    (
        "load",
        (
            rf"(?:(?:@|at|with|w/)\s*)?(?:(?:bw|bodyweight|body\s+weight)\s*)?(?<![\d+])(?P<s>[+-])\s?"
            rf"(?P<a>{_NUM})\s*(?P<u>{_UNIT}|{_WATER}(?:\s+(?:of\s+)?water)?)?(?![\w+]|[.,]\d|\s*reps?\b)",
            rf"(?P<s>\+)(?P<a>{_NUM})\s*(?P<u>{_UNIT})(?![\w+])",
            rf"(?:(?:@|at|with|w/)\s*)?(?P<a>{_NUM})\s*(?P<u>{_UNIT}|{_WATER}\s+(?:of\s+)?water)(?![\w+])",
        ),
    ),
    ("at", (rf"@\s*{_NUM}(?![\w.,])",)),
    ("chain", (r"(?P<a>\d{1,3})\s*[x*]\s*(?P<b>\d{1,3})\s*[x*]\s*(?=\d)",)),
    ("range", (r"\d{1,2}\s*(?:x|\*|sets?\s+of)\s*\d{1,2}\s*(?:-|to)\s*\d{1,2}(?!\w)",)),
    (
        "hold",
        (
            r"(?:(?P<a>\d{1,2})\s*(?:x|\*|sets?\s+of)\s*)?(?P<b>\d{1,3}(?:[.,]\d)?)\s*"
            r"(?:seconds?|secs?|s|\")(?!\w)(?:\s*(?:each|down|lowering|hold))?",
        ),
    ),
    (
        "scheme",
        (r"(?P<a>\d{1,3})\s*(?:x|\*|sets?\s*(?:of|x))\s*(?P<b>\d{1,3})(?:\s*reps?)?(?!\w|[.,]\d)",),
    ),
    ("count", (r"(?P<a>\d{1,2})\s*sets?(?!\w)\s*:?",)),
    ("nth", (r"set\s*\#?\d{1,2}\s*[:.)-]",)),
    ("times", (rf"(?:x|\*)\s*(?P<a>\d{{1,3}}(?:{_BETWEEN}\d{{1,3}}{_AFTER_LIST})*)(?!\w|\s*[x*]|\.\d)",)),
    ("minutes", (r"(?:took\s+|in\s+)?(?P<a>\d{2,3})\s*min(?:utes)?(?!\w)",)),
    (
        "list",
        (
            rf"(?P<a>\d{{1,3}}(?:{_BETWEEN}\d{{1,3}}{_AFTER_LIST})*)(?:\s*reps?)?(?!\w|\s*[x*]\s*\d|\.\d|[/+]\d)",
        ),
    ),
    ("fraction", (r"\d{1,4}[.,]\d{1,3}(?!\w)",)),
    ("body", (rf"(?:@\s*)?(?:{_BODY}|unweighted|no\s+(?:added\s+)?(?:weight|load))(?!\w)",)),
    (
        "failed",
        (
            r"to\s+failure(?!\w)",
            r"failed(?:\s+(?:the\s+)?(?:last|next|\d{1,2}(?:st|nd|rd|th)?)(?:\s+(?:one|rep))?)?(?!\w)",
            r"(?:last|next)\s+(?:one|rep)\s+(?:failed|missed)(?!\w)",
            r"missed\s+(?:the\s+)?(?:last|next)(?:\s+(?:one|rep))?(?!\w)",
        ),
    ),
    (
        "calm",
        (
            r"(?:(?:is|was|feels|felt|all)\s+)?(?:ok(?:ay)?|fine|good|calm|quiet|happy|none|pain[\s-]?free)(?!\w)",
        ),
    ),
    ("no_pain", (r"(?:no|zero|without)\s+(?:any\s+)?pain(?!\w)",)),
    (
        "remark",
        (
            rf"{_WHOSE}?{_SOFT}*(?:ugly|grindy|grind|grinder|slow|messy|easy|hard|heavy|light|clean|short|half"
            r"|shaky|swingy|kipped|strong|tired|smooth|snappy|tough|rough)(?!\w)",
        ),
    ),
    (
        "slot",
        (
            r"(?:top|first|last|warm-?\s?up|back-?\s?offs?|working|work|ramp)(?:\s+sets?)?(?!\w)",
            r"(?:max(?:imum)?|amrap|as many as possible)(?:\s+(?:set|reps?))?(?!\w)",
        ),
    ),
    ("side", (r"(?:left|right|both\s+sides?)(?!\w)",)),
    (
        "hurt",
        (
            r"(?:pain(?:ful)?|hurts?|hurting|aches?|achy|aching|sore(?:ness)?|twinges?|tender|niggles?"
            r"|discomfort|burning|sharp)(?!\w)",
        ),
    ),
    (
        "filler",
        (
            r"(?:reps?|sets?|each|done|did|of|for|in|the|an?|my|with|at|on|x|@|today's|log|per|side|was|were|is"
            r"|felt|training|workout|since|after|from|weighted|loaded|today|again|also|though|finally|bit|little|slightly|session)(?!\w)|[-=@]",
        ),
    ),
)
_PATTERNS = tuple(
    (kind, re.compile(pattern, re.IGNORECASE)) for kind, patterns in _SIGNS for pattern in patterns
)
_WORD = re.compile(r"[\w'/+-]+|\S")
_NAME = re.compile(r"[A-Za-z][\w'-]*(?:[ ]+[A-Za-z][\w'-]*){0,5}")
_NOT_NAMES = ("bw", "body")
_NEGATED = r"(?<!no )(?<!not )(?<!without )(?<!any )"
FLAG_WORDS: tuple[tuple[str, re.Pattern[str]], ...] = tuple(
    (flag, re.compile(_NEGATED + rf"\b(?:{words})\b", re.IGNORECASE))
    for flag, words in (
        ("chest_pain", r"chest (?:pain|pressure|tightness)|pressure (?:in|on) (?:my |the )?chest"),
        ("faint", r"faint(?:ed|ing)?|passed out|blacked out|dizzy|breathless|short of breath"),
        ("pop", r"pop|popped|popping|snapped|bruis(?:e|ed|ing)|sudden(?:ly)? weak(?:ness)?|gave way"),
        ("deformity", r"deform(?:ed|ity)|changed shape|(?:felt|came|went|slipped) out|dislocat(?:ed|ion)"),
        ("numb_hand", r"numb(?:ness)?|pins and needles|tingl(?:es?|ing)|weak hand"),
        ("hot_joint", r"hot(?:,| and)? (?:red|swollen)|swollen(?:,| and)? hot|swollen"),
        ("head_knock", r"hit my head|knocked my head|banged my head"),
        ("fall", r"fell off|fell from|fell down"),
    )
)
"""Words that name a stop-now sign of the ladders; what follows from it is the ladder's business."""
REASONS = re.compile(
    r"\b(travel\w*|trip|work\w*|ill(?:ness)?|sick|fever|cold|flu|holiday|vacation|family|shift\w*|sleep|tired|"
    r"busy|weather|rain|closed)\b",
    re.IGNORECASE,
)
"""Words that say why a session was missed."""
_LOOK_ALIKES = str.maketrans(
    "×✕✖–—−‐‑’＋：“”″\u00a0\u202f\u2009\t",
    'xxx-----\'+:"""    ',
)


@dataclass
class Sign:
    """One piece of a line: its kind, its text, what it says, and where it stands."""

    kind: str
    text: str
    value: Any
    start: int
    end: int


def made_plain(line: str) -> str:
    """Return the line with look-alike characters made equal, every character in its place."""
    return line.translate(_LOOK_ALIKES)


def signs(text: str, start: int, ladder: Ladder) -> list[Sign]:
    """Cut a line, from a place on, into signs."""
    flags = {
        found.start(): (flag, found.end())
        for flag, words in FLAG_WORDS
        if flag in ladder.flags
        for found in words.finditer(text, start)
    }
    found: list[Sign] = []
    at = start
    while at < len(text):
        sign = _flag(text, at, flags) or _name(text, at, ladder) or _sign(text, at) or _word(text, at)
        if sign is None:
            break
        at = sign.end
        _add(found, sign, text)
    return found


def _add(found: list[Sign], sign: Sign, text: str) -> None:
    """Append a sign; words in a row are one piece."""
    if sign.kind == "word" and found:
        gap = found[-1].kind == "gap" and len(found) > 1
        before = found[-2] if gap else found[-1]
        if before.kind == "word":
            if gap:
                found.pop()
            before.text, before.end = text[before.start : sign.end], sign.end
            return
    found.append(sign)


def _word(text: str, at: int) -> Sign | None:
    word = _WORD.match(text, at)
    if word is None:
        return None
    kind = "reason" if REASONS.fullmatch(word.group(0)) else "word"
    return Sign(kind, word.group(0), None, at, word.end())


def _flag(text: str, at: int, flags: dict[int, tuple[str, int]]) -> Sign | None:
    if at not in flags:
        return None
    flag, end = flags[at]
    return Sign("flag", text[at:end], flag, at, end)


def _name(text: str, at: int, ladder: Ladder) -> Sign | None:
    """The longest exercise or place that hurts whose name begins here."""
    run = None if at and text[at - 1].isalnum() else _NAME.match(text, at)
    if run is None:
        return None
    ends = [at + found.end() for found in re.finditer(r"[^ ]+", run.group(0))]
    for end in reversed(ends):
        name = text[at:end].strip("-'")
        if name.casefold() in _NOT_NAMES:
            continue
        exercise = ladder.exercise_named(name)
        if exercise is not None:
            return Sign("exercise", name, exercise.id, at, end)
        site = site_named(name, ladder)
        if site is not None:
            return Sign("site", name, site, at, end)
    return None


def site_named(name: str, ladder: Ladder) -> str | None:
    """Return the name of the place that hurts, or None when the ladder knows none so called."""
    plain = name.casefold()
    for site in ladder.sites.values():
        names = {site.id.replace("_", " "), site.name.casefold()}
        names |= {alias.casefold() for alias in site.aliases}
        if plain in names or (plain.endswith("s") and plain[:-1] in names):
            return site.name
    return None


def _sign(text: str, at: int) -> Sign | None:
    if at and text[at - 1].isalnum() and text[at].isalnum():
        return None
    for kind, pattern in _PATTERNS:
        found = pattern.match(text, at)
        if found is None or found.end() == at:
            continue
        value = _value(kind, found)
        if value is not _NOTHING:
            return Sign(kind, found.group(0).strip(), value, at, found.end())
    return None


_NOTHING = object()


def _value(kind: str, found: re.Match[str]) -> Any:
    """What a sign says; _NOTHING when it is not that sign after all."""
    part = found.groupdict()
    if kind in ("effort", "speed", "rpe", "morning", "score", "minutes"):
        return _number(part["a"])
    if kind == "count":
        return int(part["a"])
    if kind == "day":
        return part["a"]
    if kind == "sleep":
        return _in_hours(part["a"], part.get("m"))
    if kind == "mass":
        keyword, bare = part.get("k") or "", not part["u"] and part["a"].isdigit()
        if bare and keyword.lower().startswith(("bw", "body")) and int(part["a"]) < BODY_MASS_KG[0]:
            return _NOTHING
        return _number(part["a"]), part["u"]
    if kind == "rir":
        return [_middle(one) for one in re.split(r"[\s,/]+", part["a"].strip())]
    if kind in ("missed", "session"):
        return part["a"].upper()
    if kind == "band":
        return (part.get("n") or "").strip().casefold(), _number(part["a"]) if part["a"] else None, part["u"]
    if kind == "load":
        return -1.0 if part.get("s") == "-" else 1.0, _number(part["a"]), part["u"]
    if kind in ("chain", "scheme", "tries"):
        return int(part["a"]), int(part["b"])
    if kind == "hold":
        return int(part["a"]) if part["a"] else None, _number(part["b"])
    if kind in ("list", "times"):
        return [int(one) for one in re.findall(r"\d+", part["a"])]
    return found.group(0)


def _number(text: str) -> float:
    return float(text.replace(",", "."))


def _middle(text: str) -> float:
    ends = [_number(one) for one in text.split("-")]
    return sum(ends) / len(ends)


def _in_hours(text: str, minutes: str | None) -> float:
    if ":" in text:
        hours, rest = text.split(":")
        return round(int(hours) + int(rest) / 60, 2)
    return round(_number(text) + (int(minutes) / 60 if minutes else 0.0), 2)


def in_kg(number: float, unit: str | None) -> float:
    """Turn a mass with its written unit into kg; litres of water weigh a kilogram each."""
    return kg_from_lb(number) if (unit or "kg").lower().startswith(("lb", "pound", "#")) else number
