"""The trade's own shorthand: a pasted message to dated facts, piece by piece.

Pure. Every piece of the text ends in one of two lists: understood, with the fact
that follows, or not understood, with the reason. A guess is never stored.

What is read, in any order within a line::

    Mon 5 Jan                       a day; what follows belongs to it
    session A                       a session of the plan; 'missed B, travel'
    5 x 5 +10 kg                    sets x reps and load
    BW 5 5 5 4 4                    body mass only, reps set by set
    3x5 @ +22.5 lb, last one ugly   a remark is kept in the athlete's words
    support 4 x 20 s                holds; 'negatives 3 x 2, 5 s'
    RIR 2 · 2 left · RPE 8          reps left of the last set
    0.52 m/s                        speed of the first rep
    inner elbow right 4/10, next morning 3/10
    BM 78.2 kg · sleep 7 h · effort 7/10 · 55 min
    muscle-up 2 of 5                tries of the skill
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field, replace
from datetime import date
from typing import Any

from overbar.planning.history import AttemptLog, BodyNote, PainReport, SessionLog
from overbar.records.days import Day, in_words, read_day
from overbar.records.pieces import (
    BODY_MASS_KG,
    MOST_ADDED_KG,
    MOST_HELP_KG,
    MOST_REPS,
    MOST_SECONDS,
    MOST_SETS,
    PLACE_NOT_SAID,
    SPEED_MPS,
    Fact,
    Ground,
    NotUnderstood,
    Parsed,
    Understood,
)
from overbar.records.said_back import say_body, say_pain, say_session, say_sets
from overbar.records.signs import REASONS, Sign, in_kg, made_plain, signs
from overbar.strength.sets import LoggedSet

SETS = ("scheme", "list", "hold", "chain", "range", "tries", "count")
"""Signs that give sets, so that a name before them is theirs."""


@dataclass
class _Block:
    """Sets of one exercise and load within a line."""

    exercise: str | None
    reps: list[int] = field(default_factory=list)
    seconds: float | None = None
    added_kg: float | None = None
    reps_left: list[float] = field(default_factory=list)
    speed: float | None = None
    failed: bool = False
    remarks: list[str] = field(default_factory=list)
    inherited: bool = False
    start: int = 0
    end: int = 0

    @property
    def named(self) -> bool:
        """Whether an exercise or a load stands with it."""
        return self.exercise is not None or self.added_kg is not None


def parse(text: str, ground: Ground) -> Parsed:
    """Read a pasted message.

    Parameters
    ----------
    text : str
        The message as it was written.
    ground : Ground
        What it is read against.

    Returns
    -------
    Parsed
        Every piece of the text with what it means, or why it means nothing here.
        Never raises, whatever the text.

    Examples
    --------
    >>> from overbar.ladder import load_ladder
    >>> ground = Ground(date(2026, 1, 5), load_ladder(), "lb", ((date(2026, 1, 5), 80.0),))
    >>> parsed = parse("3x5 @ +22.5 lb", ground)
    >>> [(one.exercise, one.reps, round(one.added_kg, 2)) for one in parsed.understood[0].facts]
    [('weighted_pull_up', 5, 10.21), ('weighted_pull_up', 5, 10.21), ('weighted_pull_up', 5, 10.21)]
    """
    reader = _Reader(ground)
    for number, line in enumerate(text.splitlines(), 1):
        reader.read_line(number, line)
    return reader.result()


class _Reader:
    """The state that one line leaves to the next: day, session, exercise, load."""

    def __init__(self, ground: Ground) -> None:
        self.ground = ground
        self.day: date | None = ground.today
        self.day_problem = ""
        self.session = ""
        self.heading: _Block | None = None
        self.heading_problem = ""
        self.unused: tuple[int, str] | None = None
        self.understood: list[tuple[int, str, str, list[Fact]]] = []
        self.not_understood: list[NotUnderstood] = []
        self.blocks: list[tuple[int, str, _Block, date, str]] = []
        self.bodies: dict[date, BodyNote] = {}
        self.body_places: dict[date, tuple[int, str]] = {}
        self.visits: dict[date, SessionLog] = {}
        self.visit_places: dict[date, tuple[int, str]] = {}
        self.pains: list[_Pain] = []
        self.tries: dict[date, int] = {}

    # --- one line --------------------------------------------------------------------

    def read_line(self, number: int, line: str) -> None:
        plain = made_plain(line)
        begin = re.compile(r"[\s>*#·•–-]*(?=[^\s>*#·•–-])").match(plain)
        start = begin.end() if begin else 0
        if not plain[start:].strip():
            return
        day = _leading_day(plain[start:], self.ground.today)
        if day is not None:
            self.begin_day(number, plain[start : start + day.length].strip(), day)
            start += day.length
        tokens = signs(plain, start, self.ground.ladder)
        if any(token.kind not in ("gap", "stop", "filler") for token in tokens):
            _Line(self, number, line, tokens).read()

    def begin_day(self, number: int, piece: str, day: Day) -> None:
        """Let a day hold for what follows; one that cannot be read holds back what follows."""
        self.session, self.heading_problem = "", ""
        self.set_heading(None)
        self.day = day.on
        self.day_problem = f"its day, {piece!r}, {day.why}" if day.on is None else ""
        if day.on is None:
            self.refuse(number, piece, day.why)

    def refuse(self, number: int, piece: str, why: str) -> None:
        self.not_understood.append(NotUnderstood(number, piece.strip(), why))

    def set_heading(self, heading: _Block | None, place: tuple[int, str] | None = None) -> None:
        """Let a line without sets head the next ones; one that headed nothing is named."""
        if self.unused is not None:
            self.refuse(*self.unused, "named without sets and reps")
        self.heading, self.unused = heading, place

    # --- the whole -------------------------------------------------------------------

    def result(self) -> Parsed:
        self.set_heading(None)
        for on, note in self.bodies.items():
            number, piece = self.body_places[on]
            self.understood.append((number, piece, say_body(note, self.ground.unit), [note]))
        for pain in self.pains:
            self.understood.append((pain.line, pain.piece, pain.say(), [pain.report()]))
        self._build_sets()
        for on, visit in self.visits.items():
            number, piece = self.visit_places[on]
            self.understood.append((number, piece, say_session(visit), [visit]))
        understood = [Understood(n, piece, say, tuple(facts)) for n, piece, say, facts in self.understood]
        understood.sort(key=lambda one: one.line)
        return Parsed(tuple(understood), tuple(sorted(self.not_understood, key=lambda one: one.line)))

    def _build_sets(self) -> None:
        order: dict[date, int] = {}
        for number, piece, block, on, session in self.blocks:
            note = self.bodies.get(on)
            own = note.body_mass_kg if note else None
            mass = own if own is not None else self.ground.body_mass_on(on)
            if mass is None:
                self.refuse(
                    number, piece, "no body mass is known for this athlete; write it, such as BM 78 kg"
                )
                continue
            exercise, assumed = self._exercise(block)
            if exercise is None:
                self.refuse(number, piece, assumed)
                continue
            sets = _logged(block, exercise, on, mass, session, order.get(on, 0))
            order[on] = order.get(on, 0) + len(sets)
            name = self.ground.ladder.exercises[exercise].name
            say = say_sets(sets, name, self.ground.unit, assumed)
            self.understood.append((number, piece, say, list(sets)))
            visit = self.visits.get(on, SessionLog(on, session, True))
            self.visits[on] = replace(visit, done=True, label=visit.label or session)
            self.visit_places.setdefault(on, (number, piece))

    def _exercise(self, block: _Block) -> tuple[str | None, str]:
        """The exercise of a block and what was taken for granted, or None and why not."""
        pull, loaded, helped = (
            one.id if (one := self.ground.ladder.exercise_named(name)) else None
            for name in ("strict pull-up", "weighted pull-up", "band-assisted pull-up")
        )
        added = block.added_kg or 0.0
        if block.exercise is None:
            if pull is None or block.seconds is not None:
                return None, "no exercise is named"
            named = loaded if added > 0 else helped if added < 0 else pull
            return named, "no exercise named: read as pull-ups"
        if block.exercise == pull and added:
            return (loaded if added > 0 else helped), ""
        if block.exercise == loaded and block.added_kg is None:
            return None, "no load is given for a loaded exercise; write +10 kg, or BW"
        return block.exercise, ""


@dataclass
class _Pain:
    line: int
    piece: str
    on: date
    site: str = ""
    side: str = ""
    worst: float | None = None
    morning: float | None = None
    night: bool = False
    flags: tuple[str, ...] = ()

    def report(self) -> PainReport:
        site = self.site or PLACE_NOT_SAID
        worst = self.worst if self.worst is not None else 0.0
        return PainReport(self.on, site, worst, self.morning, self.night, self.flags, self.side)

    def say(self) -> str:
        return say_pain(self.report(), scored=self.worst is not None)


class _Line:
    """One line's tokens, put together from left to right."""

    def __init__(self, reader: _Reader, number: int, line: str, tokens: list[Sign]) -> None:
        self.reader, self.number, self.line, self.tokens = reader, number, line, tokens
        self.ground = reader.ground
        self.blocks: list[_Block] = []
        self.block: _Block | None = None
        self.problems: dict[int, str] = {}
        self.pain: _Pain | None = None
        self.score: Sign | None = None
        self.side = ""
        self.unknown: Sign | None = None
        self.stopped = False
        self.did = False
        self.at = 0
        self.count: int | None = None
        self.numbered = False
        self.slot = ""

    def read(self) -> None:
        for i, token in enumerate(self.tokens):
            self.at = i
            follow = next((t for t in self.tokens[i + 1 :] if t.kind not in ("gap", "filler")), None)
            handler = getattr(self, f"_on_{token.kind}", None)
            if handler is not None:
                handler(token, follow)
        self._end_pain()
        self._end_score()
        self._close()
        self._finish()

    # --- sets ------------------------------------------------------------------------

    def _start(self, token: Sign, exercise: str | None) -> _Block:
        self._close()
        self.stopped = False
        self.block = _Block(exercise, start=token.start, end=token.end)
        if self.unknown is not None:
            self.problems[id(self.block)] = f"{self.unknown.text!r} may change what it means"
        return self.block

    def _close(self) -> None:
        if self.block is not None:
            self.blocks.append(self.block)
            self.block = None

    def _here(self, token: Sign) -> _Block:
        """The block a piece belongs to, begun where there is none."""
        if self.block is None:
            exercise = self.blocks[-1].exercise if self.blocks else None
            self._start(token, exercise)
        assert self.block is not None
        return self.block

    def _on_exercise(self, token: Sign, follow: Sign | None) -> None:
        self._end_pain()
        block = self.block
        sets_follow = follow is not None and follow.kind in SETS
        if block is not None and not block.reps and block.exercise == token.value:
            return
        unnamed = block is not None and bool(block.reps) and (block.exercise is None or block.inherited)
        if block is not None and unnamed and not sets_follow and not self.stopped:
            block.exercise, block.inherited, block.end = token.value, False, token.end
        else:
            self._start(token, token.value)

    def _take_reps(self, token: Sign, reps: list[int]) -> None:
        block = self._here(token)
        if block.reps:
            block = self._start(token, block.exercise)
            block.inherited = True
        block.reps, block.end = reps, token.end
        if self.slot:
            block.remarks.append(self.slot)
            if self.slot.lower().startswith(("max", "amrap", "as many")):
                block.reps_left = [0.0]
            self.slot = ""
        if self.count is not None and len(reps) == 1:
            block.reps = reps * min(self.count, MOST_SETS + 1)
        elif self.count is not None and self.count != len(reps):
            self.problems[id(block)] = f"says {self.count} sets and gives {len(reps)}"
        self.count = None
        if block.inherited and token.kind == "list" and block.added_kg is None:
            self.problems[id(block)] = "a second row of numbers; write what it is, on a line of its own"
        if max(reps) > MOST_REPS or len(reps) > MOST_SETS:
            self.problems[id(block)] = f"more than {MOST_REPS} reps or {MOST_SETS} sets cannot be meant"

    def _on_scheme(self, token: Sign, follow: Sign | None) -> None:
        sets, reps = token.value
        if sets == 0 or reps == 0:
            self.reader.refuse(self.number, token.text, "no sets or no reps at all")
        else:
            self._take_reps(token, [reps] * min(sets, MOST_SETS + 1))

    def _on_chain(self, token: Sign, follow: Sign | None) -> None:
        if follow is None or follow.kind != "load":
            self._take_reps(token, [0])
            assert self.block is not None
            why = "three numbers in a row can be read in two ways; write 3 x 5 +10 kg"
            self.problems[id(self.block)] = why
        else:
            self._on_scheme(token, follow)

    def _on_range(self, token: Sign, follow: Sign | None) -> None:
        self._take_reps(token, [0])
        assert self.block is not None
        self.problems[id(self.block)] = "a range is a plan; write the reps that were done, such as 5 5 4"

    def _on_times(self, token: Sign, follow: Sign | None) -> None:
        if self.block is None or self.block.added_kg is None or self.block.reps:
            self.reader.refuse(self.number, token.text, "no load stands before it")
        else:
            self._take_reps(token, token.value)

    def _on_list(self, token: Sign, follow: Sign | None) -> None:
        reps: list[int] = token.value
        of_pain = self.pain is not None and self.pain.worst is None
        if of_pain and (len(reps) == 1 or re.fullmatch(r"\d+\s*-\s*\d+", token.text)):
            self._take_score(token, float(max(reps)))
        elif len(reps) == 1 and not (self._awaits_reps() or self._counts(token)):
            self._unclear(token, "a number that says nothing by itself")
        else:
            self._take_reps(token, reps)

    def _awaits_reps(self) -> bool:
        return self.block is not None and not self.block.reps and self.block.named

    def _counts(self, token: Sign) -> bool:
        """A number by itself is a set when it says so: ``5 reps``, ``10 pull-ups``, ``set 1: 5``."""
        if "rep" in token.text.lower() or self.numbered or self.count is not None:
            return True
        after = [one for one in self.tokens[self.at + 1 :] if one.kind not in ("gap", "filler")][:2]
        then_sets = len(after) > 1 and after[1].kind in SETS
        return bool(after) and after[0].kind == "exercise" and not then_sets

    def _on_count(self, token: Sign, follow: Sign | None) -> None:
        self.count = token.value

    def _on_nth(self, token: Sign, follow: Sign | None) -> None:
        self.numbered = True

    def _on_slot(self, token: Sign, follow: Sign | None) -> None:
        self.slot = token.text

    def _on_load(self, token: Sign, follow: Sign | None) -> None:
        sign, number, unit = token.value
        kg = sign * in_kg(number, unit or self.ground.unit)
        self._take_load(token, kg)

    def _take_load(self, token: Sign, kg: float) -> None:
        block = self._here(token)
        if block.added_kg is not None:
            block = self._start(token, block.exercise)
        block.added_kg, block.end = kg, max(block.end, token.end)
        if not -MOST_HELP_KG <= kg <= MOST_ADDED_KG:
            self.problems[id(block)] = f"a load of {kg:g} kg cannot be meant"

    def _on_body(self, token: Sign, follow: Sign | None) -> None:
        self._take_load(token, 0.0)

    def _on_band(self, token: Sign, follow: Sign | None) -> None:
        name, number, unit = token.value
        known = {band.casefold(): kg for band, kg in self.ground.bands.items()}
        if number is not None:
            self._take_load(token, -in_kg(number, unit))
        elif name in known:
            self._take_load(token, -known[name])
        else:
            self._take_load(token, 0.0)
            assert self.block is not None
            self.problems[id(self.block)] = (
                "how much this band helps is not known; write band 12 kg, or its name as in the kit"
            )

    def _on_hold(self, token: Sign, follow: Sign | None) -> None:
        sets, seconds = token.value
        block = self._here(token)
        if block.reps and sets is None and block.seconds is None:
            block.seconds, block.end = seconds, token.end
            return
        self._take_reps(token, [1] * min(sets or 1, MOST_SETS + 1))
        assert self.block is not None
        self.block.seconds = seconds
        if not 0 < seconds <= MOST_SECONDS:
            self.problems[id(self.block)] = f"{seconds:g} s cannot be meant"

    def _with_sets(self, token: Sign, what: str) -> _Block | None:
        block = self.block or (self.blocks[-1] if self.blocks else None)
        if block is None or not block.reps:
            self.reader.refuse(self.number, token.text, f"{what} without a set it belongs to")
            return None
        block.end = max(block.end, token.end)
        return block

    def _on_rir(self, token: Sign, follow: Sign | None) -> None:
        if (block := self._with_sets(token, "reps left")) is None:
            return
        if max(token.value) > 15 or len(token.value) not in (1, len(block.reps)):
            self.reader.refuse(self.number, token.text, "does not fit the number of sets, or is beyond 15")
        else:
            block.reps_left = token.value

    def _on_rpe(self, token: Sign, follow: Sign | None) -> None:
        if not 1 <= token.value <= 10:
            self.reader.refuse(self.number, token.text, "the scale goes from 1 to 10")
        elif (block := self._with_sets(token, "an effort score")) is not None:
            block.reps_left = [10 - token.value]

    def _on_speed(self, token: Sign, follow: Sign | None) -> None:
        if not SPEED_MPS[0] <= token.value <= SPEED_MPS[1]:
            self.reader.refuse(self.number, token.text, "no pull-up is that slow or that fast")
        elif (block := self._with_sets(token, "a speed")) is not None:
            block.speed = token.value

    def _on_failed(self, token: Sign, follow: Sign | None) -> None:
        if (block := self._with_sets(token, "a failed rep")) is not None:
            block.failed = True

    def _on_remark(self, token: Sign, follow: Sign | None) -> None:
        if (block := self._with_sets(token, "a remark")) is not None:
            block.remarks.append(token.text)

    # --- pain ------------------------------------------------------------------------

    def _begin_pain(self, token: Sign) -> _Pain:
        self.stopped = True
        on = self.reader.day or self.ground.today
        self.pain = _Pain(self.number, token.text, on, side=self.side)
        self.side = ""
        return self.pain

    def _on_site(self, token: Sign, follow: Sign | None) -> None:
        if self.pain is not None and (self.pain.site or self.pain.worst is not None):
            self._end_pain()
        pain = self.pain or self._begin_pain(token)
        pain.site = token.value
        named = re.search(r"\b(left|right|l|r)\b", token.text, re.IGNORECASE)
        if named:
            pain.side = "left" if named[0].lower().startswith("l") else "right"
        self._reach(pain, token)
        if self.score is not None:
            score, self.score = self.score, None
            self._take_score(score, score.value)

    def _on_side(self, token: Sign, follow: Sign | None) -> None:
        side = token.text.lower()
        if side not in ("left", "right"):
            side = ""
        if self.pain is not None and self.pain.site and not self.pain.side:
            self.pain.side = side
            self._reach(self.pain, token)
        elif follow is not None and follow.kind in ("site", "hurt"):
            self.side = side
        else:
            self.reader.refuse(self.number, token.text, "a side without a place that hurts")

    def _on_hurt(self, token: Sign, follow: Sign | None) -> None:
        pain = self.pain or self._begin_pain(token)
        self._reach(pain, token)

    def _on_flag(self, token: Sign, follow: Sign | None) -> None:
        pain = self.pain or self._begin_pain(token)
        pain.flags = tuple(dict.fromkeys((*pain.flags, token.value)))
        self._reach(pain, token)

    def _on_score(self, token: Sign, follow: Sign | None) -> None:
        block = self.block or (self.blocks[-1] if self.blocks else None)
        attempt = self.ground.ladder.skill.attempt_exercise
        if self.pain is not None and self.pain.worst is None:
            self._take_score(token, token.value)
        elif block is not None and block.exercise == attempt and attempt and not block.reps:
            whole = int(token.value)
            self._on_tries(replace(token, value=(whole, 10)), follow)
        else:
            self._end_score()
            self.score = token

    def _end_score(self) -> None:
        if self.score is not None:
            self.reader.refuse(
                self.number, self.score.text, "a score without a place that hurts, or 'effort'"
            )
            self.score = None

    def _take_score(self, token: Sign, value: float) -> None:
        assert self.pain is not None
        if not 0 <= value <= 10:
            self.reader.refuse(self.number, token.text, "the pain scale goes from 0 to 10")
            return
        self.pain.worst = value
        self._reach(self.pain, token)

    def _on_calm(self, token: Sign, follow: Sign | None) -> None:
        if self.pain is not None and self.pain.worst is None:
            self._take_score(token, 0.0)
        else:
            self._on_remark(token, follow)

    def _on_then(self, token: Sign, follow: Sign | None) -> None:
        pain = self.pain or (self.reader.pains[-1] if self.reader.pains else None)
        if self.score is None or pain is None:
            self.reader.refuse(self.number, token.text, "no number from 0 to 10 stands with it")
        else:
            score, self.score = self.score, None
            self._on_morning(replace(token, value=score.value), follow)

    def _on_day(self, token: Sign, follow: Sign | None) -> None:
        """A day named within a line: it counts for what follows, if nothing came before it."""
        day = read_day(token.value, self.ground.today)
        if self.did or self.pain or self.block or self.blocks or day is None or day.on is None:
            self._unclear(token, "a day in the middle of a line; begin the line with it")
        else:
            self.reader.begin_day(self.number, token.text, day)

    def _on_no_pain(self, token: Sign, follow: Sign | None) -> None:
        self._end_pain()
        pain = self._begin_pain(token)
        pain.worst = 0.0
        if follow is not None and follow.kind in ("site", "side"):
            self._reach(pain, token)
            pain.site = follow.value if follow.kind == "site" else ""
        pain.site = pain.site or "anywhere"

    def _on_morning(self, token: Sign, follow: Sign | None) -> None:
        pain = self.pain or (self.reader.pains[-1] if self.reader.pains else None)
        if pain is None:
            self.reader.refuse(self.number, token.text, "no pain is named that it could belong to")
        elif not 0 <= token.value <= 10:
            self.reader.refuse(self.number, token.text, "the pain scale goes from 0 to 10")
        else:
            pain.morning = token.value
            if pain is self.pain:
                self._reach(pain, token)
            else:
                pain.piece = f"{pain.piece} … {token.text}"

    def _on_night(self, token: Sign, follow: Sign | None) -> None:
        pain = self.pain or (self.reader.pains[-1] if self.reader.pains else None)
        if pain is None:
            pain = self._begin_pain(token)
        pain.night = True
        if pain is self.pain:
            self._reach(pain, token)

    def _reach(self, pain: _Pain, token: Sign) -> None:
        start = self.line.find(pain.piece)
        if 0 <= start <= token.start:
            pain.piece = self.line[start : token.end].strip()

    def _end_pain(self) -> None:
        pain, self.pain = self.pain, None
        if pain is None:
            return
        if self.reader.day is None:
            self.reader.refuse(self.number, pain.piece, self.reader.day_problem)
        elif pain.worst is None and not pain.flags and not pain.night:
            why = "a place or pain is named without a number from 0 to 10: ask for it"
            self.reader.refuse(self.number, pain.piece, why)
        else:
            self.reader.pains.append(pain)
            self.did = True

    # --- body, sessions, tries ---------------------------------------------------------

    def _on_mass(self, token: Sign, follow: Sign | None) -> None:
        number, unit = token.value
        kg = in_kg(number, unit or self.ground.unit)
        if not BODY_MASS_KG[0] <= kg <= BODY_MASS_KG[1]:
            self.reader.refuse(self.number, token.text, f"a body mass of {kg:.0f} kg cannot be meant")
        else:
            self._body(token, "body_mass_kg", round(kg, 4))

    def _on_sleep(self, token: Sign, follow: Sign | None) -> None:
        if not 0 <= token.value <= 16:
            self.reader.refuse(self.number, token.text, "nobody sleeps that long")
        else:
            self._body(token, "sleep_h", token.value)

    def _body(self, token: Sign, name: str, value: float) -> None:
        on = self._day_for(token)
        if on is None:
            return
        note = self.reader.bodies.get(on, BodyNote(on))
        self.reader.bodies[on] = replace(note, **{name: value})  # type: ignore[arg-type]
        number, piece = self.reader.body_places.get(on, (self.number, ""))
        self.reader.body_places[on] = (number, f"{piece}, {token.text}" if piece else token.text)
        self.did = True

    def _day_for(self, token: Sign) -> date | None:
        if self.reader.day is None:
            self.reader.refuse(self.number, token.text, self.reader.day_problem)
        return self.reader.day

    def _on_effort(self, token: Sign, follow: Sign | None) -> None:
        if not 0 <= token.value <= 10:
            self.reader.refuse(self.number, token.text, "the effort scale goes from 0 to 10")
        else:
            self._visit(token, effort=token.value)

    def _on_minutes(self, token: Sign, follow: Sign | None) -> None:
        self._visit(token, minutes=token.value)

    def _on_session(self, token: Sign, follow: Sign | None) -> None:
        self.reader.session = token.value
        self._visit(token, label=token.value)

    def _visit(self, token: Sign, **values: Any) -> None:
        on = self._day_for(token)
        if on is None:
            return
        visit = self.reader.visits.get(on, SessionLog(on, self.reader.session, True))
        self.reader.visits[on] = replace(visit, **values)
        self.reader.visit_places.setdefault(on, (self.number, token.text))
        self.did = True

    def _on_missed(self, token: Sign, follow: Sign | None) -> None:
        on = self._day_for(token)
        if on is None:
            return
        reason = REASONS.search(self.line, token.end)
        words = reason.group(0).lower() if reason else ""
        missed = SessionLog(on, token.value, False, reason=words)
        self.reader.understood.append((self.number, token.text, say_session(missed), [missed]))
        self.did = True

    def _on_reason(self, token: Sign, follow: Sign | None) -> None:
        if not any(one.kind == "missed" for one in self.tokens):
            self._on_word(token, follow)

    def _on_tries(self, token: Sign, follow: Sign | None) -> None:
        valid, tries = token.value
        block = self.block
        attempt = self.ground.ladder.skill.attempt_exercise
        if block is None or block.exercise != attempt or not attempt:
            if "/" in token.text:
                self._on_list(replace(token, value=list(token.value)), follow)
            else:
                self._unclear(token, "two numbers that say nothing without 'muscle-up' or 'tries'")
            return
        if valid > tries or tries > 30:
            self.reader.refuse(self.number, token.text, "more valid tries than tries, or more than 30")
            self.block = None
            return
        on = self._day_for(token)
        if on is None:
            self.block = None
            return
        first = self.reader.tries.get(on, 0) + 1
        self.reader.tries[on] = first + tries - 1
        outcomes = ["failed"] * (tries - valid) + ["valid"] * valid
        facts: list[Fact] = [
            AttemptLog(on, first + i, outcome)  # type: ignore[arg-type]
            for i, outcome in enumerate(outcomes)
        ]
        piece = self.line[block.start : token.end]
        say = f"{valid} of {tries} tries valid by the athlete's own word (order not said), {in_words(on)}"
        self.reader.understood.append((self.number, piece, say, facts))
        self.block = None
        self.did = True

    # --- the rest ----------------------------------------------------------------------

    def _on_rest(self, token: Sign, follow: Sign | None) -> None:
        self.reader.refuse(self.number, token.text, "rest times are not kept")

    def _on_stop(self, token: Sign, follow: Sign | None) -> None:
        self.unknown = None
        self.stopped = True

    def _on_at(self, token: Sign, follow: Sign | None) -> None:
        if (block := self._with_sets(token, "a load or an effort")) is not None:
            self.problems[id(block)] = f"{token.text!r} may be a load or an effort; write +8 kg, or RPE 8"

    def _on_word(self, token: Sign, follow: Sign | None) -> None:
        why = "not a word of a log"
        if token.text.casefold() in ("chin-ups", "chin-up", "chins", "chinups"):
            why = "underhand pull-ups are not on this ladder; not counted as pull-ups"
        self._unclear(token, why)

    def _on_fraction(self, token: Sign, follow: Sign | None) -> None:
        self._unclear(token, "a number with a fraction that is neither a load nor a mass")

    def _unclear(self, token: Sign, why: str) -> None:
        """Name a piece that is not understood; sets right beside it may mean something else."""
        self.reader.refuse(self.number, token.text, why)
        if self.block is not None and self.block.reps and not self.stopped:
            self.problems[id(self.block)] = f"{token.text!r} may change what it means"
        self.unknown = token

    def _finish(self) -> None:
        """Hand the blocks over; a line without any sets is a heading for the next ones."""
        named = [block for block in self.blocks if not block.reps]
        full = [block for block in self.blocks if block.reps]
        own = {block.exercise for block in full if block.exercise is not None}
        if own:
            self.reader.heading_problem = ""
            if self.reader.heading is not None and own != {self.reader.heading.exercise}:
                self.reader.set_heading(None)
        words = [token for token in self.tokens if token.kind == "word"]
        if not full:
            if len(named) == 1 and not self.did and not words and named[0].named:
                self.reader.heading_problem = ""
                piece = self.line[named[0].start : named[0].end]
                self.reader.set_heading(named[0], (self.number, piece))
                named = []
            elif words and not named and not self.did and len(" ".join(w.text for w in words).split()) <= 3:
                self.reader.set_heading(None)
                self.reader.heading_problem = f"it stands under {words[0].text!r}, which is not understood"
        for block in named:
            piece = self.line[block.start : block.end]
            self.reader.refuse(self.number, piece, "named without sets and reps")
        loads = 0
        for block in full:
            piece = self.line[block.start : block.end].strip()
            problem = self.problems.get(id(block), "") or self._inherit(block)
            if (
                not problem
                and loads
                and block.added_kg is None
                and block.exercise in (None, full[0].exercise)
            ):
                problem = (
                    "no load stands with it, though other sets of the line have one; write BW or the load"
                )
            loads += block.added_kg is not None
            if self.reader.day is None:
                problem = self.reader.day_problem
            if problem or self.reader.day is None:
                self.reader.refuse(self.number, piece, problem)
            else:
                self.reader.blocks.append((self.number, piece, block, self.reader.day, self.reader.session))

    def _inherit(self, block: _Block) -> str:
        """Take exercise and load from the heading; return a problem or ""."""
        if block.exercise is None and self.reader.heading_problem:
            return self.reader.heading_problem
        heading = self.reader.heading
        if heading is not None and block.exercise in (None, heading.exercise):
            block.exercise = heading.exercise
            self.reader.unused = None
            if block.added_kg is None:
                block.added_kg = heading.added_kg
        return ""


def _logged(
    block: _Block, exercise: str, on: date, body_mass_kg: float, session: str, first: int
) -> list[LoggedSet]:
    """The sets of a block; a single figure of reps left is that of the last set."""
    left: list[float | None] = list(block.reps_left)
    if len(left) != len(block.reps):
        left = [*[None] * (len(block.reps) - len(left)), *left]
    return [
        LoggedSet(
            on=on,
            exercise=exercise,
            body_mass_kg=body_mass_kg,
            added_kg=round(block.added_kg or 0.0, 4),
            reps=reps,
            reps_left=left[nth],
            first_rep_speed_mps=block.speed if nth == 0 else None,
            failed=block.failed and nth == len(block.reps) - 1,
            session=session,
            order=first + nth,
            seconds=block.seconds,
            note="; ".join(block.remarks) if nth == len(block.reps) - 1 else "",
        )
        for nth, reps in enumerate(block.reps)
    ]


def _leading_day(text: str, today: date) -> Day | None:
    day = read_day(text, today)
    if day is None:
        return None
    piece, rest = text[: day.length], text[day.length :].lstrip()
    if re.fullmatch(r"\s*\d{1,2}/\d{1,2}", piece) and rest and rest[0] not in ":-":
        return None  # 4/10 at the start of a line is a score or a count, not a day
    return day
