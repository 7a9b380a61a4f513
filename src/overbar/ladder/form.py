"""The form of a ladder: what may be written in its data, checked, and frozen when read.

One model per kind of entry. Every entry that decides or judges something carries
``basis`` (published: source; common practice; own judgement) and ``why``.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Annotated, Any, Literal

from pydantic import AfterValidator, BaseModel, BeforeValidator, ConfigDict, Field, GetPydanticSchema
from pydantic_core import core_schema

from overbar.ladder.expression import Expression, NotAnExpression, parse
from overbar.ladder.source import fingerprint

BASES = ("published", "common practice", "own judgement")


def _basis(text: str) -> str:
    for part in text.split(";"):
        head, _, rest = part.strip().partition(":")
        if head not in BASES or (head == "published" and not rest.strip()):
            raise ValueError(
                f"{part.strip()!r} is not 'published: source', 'common practice' or 'own judgement'"
            )
    return text


def _expression(value: Any) -> Expression:
    if isinstance(value, Expression):
        return value
    if isinstance(value, bool) or not isinstance(value, int | float | str):
        raise ValueError(f"{value!r} is neither a number nor an expression")
    try:
        return parse(str(value))
    except NotAnExpression as error:
        raise ValueError(str(error)) from error


def _slug(text: str) -> str:
    if not re.fullmatch(r"[a-z][a-z0-9_]*(_L|_R)?|R", text):
        raise ValueError(f"{text!r} is not a short lower-case name such as strict_pull_up")
    return text


def _label(text: str) -> str:
    if not re.fullmatch(r"[A-Za-z0-9][A-Za-z0-9._-]{0,39}", text):
        raise ValueError(
            f"{text!r} cannot stand in an address or a folder; use at most 40 letters a-z, digits, dots, "
            "hyphens and underscores, beginning with a letter or digit"
        )
    return text


def _list(value: Any) -> Any:
    return [value] if isinstance(value, str) else value


Basis = Annotated[str, AfterValidator(_basis)]
Slug = Annotated[str, AfterValidator(_slug)]
Formula = Annotated[
    Expression,
    GetPydanticSchema(lambda source, handler: core_schema.no_info_plain_validator_function(_expression)),
]
Names = Annotated[tuple[str, ...], BeforeValidator(_list)]
Op = Literal[">=", "<=", ">", "<", "outside"]
SeenBy = Literal["film", "photo", "coach", "athlete", "problem"]


class Entry(BaseModel):
    """Anything written in ladder data: no unknown field, never changed after reading."""

    model_config = ConfigDict(frozen=True, extra="forbid", arbitrary_types_allowed=True)


class Judged(Entry):
    """An entry that decides something, and therefore says on what ground."""

    basis: Basis
    why: str = Field(min_length=3)


class Exercise(Judged):
    """One exercise or drill.

    Attributes
    ----------
    id, code, name : str
        Stable id, handbook code, and name as shown.
    strand : str
        Strand of the ladder it serves.
    pattern : str
        Loading pattern that limits and pain rules speak about.
    volume : str
        Weekly volume it counts towards ("pull", "dip", "speed", "attempt"), or "".
    load_kind : str
        What its load is measured in.
    sets, reps, seconds
        Usual dose in numbers, when a plan names the exercise alone; ``dose`` is the
        same in words.
    kit : tuple of str
        All of it is needed.
    swaps, kinder : tuple of str
        Exercise ids that do the same job with other kit, or with less strain.
    hand_lever : float
        Share of full load the shape gives (levers and scale-weighed holds); 1 elsewhere.
    strength_test : bool
        Whether sets of it feed the pulling strength.
    """

    id: Slug
    code: str
    name: str
    strand: str
    pattern: str
    purpose: str
    set_up: str
    do: str
    load_kind: Literal[
        "system_mass", "assistance", "seconds", "reps", "height", "lever", "hands_load", "range", "tries"
    ]
    dose: str
    sets: int = Field(default=3, ge=1)
    reps: tuple[int, int] = (5, 8)
    seconds: float | None = None
    rest_s: float = 90.0
    not_when: str = ""
    easier: str = ""
    harder: str = ""
    kit: Names = ()
    rungs: Names = ()
    swaps: Names = ()
    kinder: Names = ()
    aliases: Names = ()
    cautions: Names = ()
    volume: str = ""
    hand_lever: float = 1.0
    strength_test: bool = False


class Fault(Judged):
    """One fault seen on film.

    Attributes
    ----------
    conditions : tuple of (measure, op, value)
        Any one of them shows the fault; "outside" takes a pair.
    stops : tuple of str
        Patterns left out of the week while it is the one named.
    films_needed : int
        In how many of the last three usable films it must be seen before it counts.
    priority : int
        The lower number wins.
    seen_by : tuple of str
        Who or what can show it: a film of the right view, the photo of the place, the coach, the
        athlete's word in the log, or the film room itself as a problem of the film.
    """

    id: str
    name: str
    look: str
    priority: int = Field(ge=0)
    view: str
    seen_by: Annotated[tuple[SeenBy, ...], BeforeValidator(_list)] = ("film", "coach")
    measure: str
    cause: str
    cue: str
    drills: Names = ()
    next_week: str
    conditions: tuple[tuple[str, Op, float | tuple[float, float]], ...] = ()
    stops: Names = ()
    films_needed: int = Field(default=2, ge=1, le=3)

    def shown_from(self, view: str) -> bool:
        """Say whether a film seen so ("side", "oblique", "front", "rear") can show it.

        Heights and speeds are told from anywhere, so a fault of the side view is looked
        for in every film by the measures that view gives.
        """
        return "film" in self.seen_by and (self.view in ("side", "any") or view in self.view.split("/"))


class Reads(Entry):
    """Where a test takes its values from, beside measurements that name it.

    Attributes
    ----------
    exercises : tuple of str
        Logged sets of these count.
    take : str
        "reps", "seconds", "speed" or "added_share" (added load over body mass).
    at_body_mass : bool
        Only sets without added load or help.
    best_of : int
        The value that so many repetitions of the day reached (3: three lowerings of at least this).
    fact : str
        Or the engine's fact of this name.
    attempt : str
        Or this measure of the attempts.
    """

    exercises: Names = ()
    take: Literal["reps", "seconds", "speed", "added_share"] = "reps"
    at_body_mass: bool = False
    best_of: int = Field(default=1, ge=1)
    fact: str = ""
    attempt: str = ""


class Test(Judged):
    """One test: its unit, which way is better, its noise, how it is done.

    Attributes
    ----------
    noise_sd : float or None
        One-sigma retest noise in ``unit``, when known.
    max_age_days : int
        Evidence older than this no longer counts.
    ask : str
        How the athlete is asked for it.
    """

    id: Slug
    name: str
    unit: str
    better: Literal["more", "less"] = "more"
    noise_sd: float | None = None
    max_age_days: int = Field(default=14, ge=1)
    protocol: str = ""
    ask: str = ""
    aliases: Names = ()
    reads: Reads = Reads()


class Requirement(Entry):
    """One item of a gate, or a group of them.

    Attributes
    ----------
    any_of, all_of : tuple of Requirement
        A group in place of a single test.
    days : int
        On so many separate days.
    running : bool
        Those days are the latest ones tested, without a worse one between.
    sources : tuple of str
        Accept only evidence from these ("film", "coach", "log").
    assume_when_placing : bool
        Unknown does not keep a new athlete back; it is asked for instead.
    """

    say: str = ""
    test: str = ""
    op: Op = ">="
    value: float = 0.0
    hard: bool = True
    days: int = Field(default=1, ge=1)
    running: bool = False
    max_age_days: int | None = None
    sources: Names = ()
    assume_when_placing: bool = False
    any_of: tuple[Requirement, ...] = ()
    all_of: tuple[Requirement, ...] = ()

    @cached_property
    def leaves(self) -> tuple[Requirement, ...]:
        """Every single test of it."""
        parts = self.any_of or self.all_of
        return tuple(leaf for part in parts for leaf in part.leaves) if parts else (self,)


class Gate(Judged):
    """What opens the next rung."""

    id: str
    name: str
    from_rung: str
    to_rung: str
    item: tuple[Requirement, ...]


class SlotForm(Entry):
    """One line of a week before loads, kit and limits.

    Attributes
    ----------
    on : tuple of str
        Home days ("A", "B", "C"); with ``week_sets`` the budget days of the layout.
    when, needs : Expression
        Planned only when ``when`` is true; ``needs`` refuses it unless true, and then
        ``instead`` is planned.
    sets, week_sets : Expression
        Sets each day, or sets of the whole week to be spread.
    week_reps : Expression
        Reps of the whole week the athlete stops at, whatever the sets come to.
    load_kg : Expression
        Added load wanted, kg; negative asks for band help; the kit decides what it is.
    place : int
        Order within a session, lowest first.
    gives_way : int
        The highest number loses sets first when a cap bites.
    main : bool
        Kept when days are fewer.
    test_day : bool
        Kept on the test day, because it is a test itself.
    fault_drill : bool
        The line for the named fault's drill.
    """

    name: Slug
    exercise: str
    on: Names = ()
    rungs: Names = ()
    when: Formula | None = None
    needs: Formula | None = None
    instead: str = ""
    sets: Formula | None = None
    week_sets: Formula | None = None
    week_reps: Formula | None = None
    reps_low: Formula | None = None
    reps_high: Formula | None = None
    seconds: Formula | None = None
    load_kg: Formula | None = None
    rest_s: float | None = None
    reps_left: float | None = None
    note: str = ""
    film: bool = False
    place: int = 50
    gives_way: int = 5
    main: bool = False
    test_day: bool = False
    fault_drill: bool = False


class Rung(Judged):
    """One stage of the way, its own week beside the pulling method."""

    id: str
    name: str
    who: str
    aim: str
    weeks: str
    gate: str = ""
    number: dict[str, float] = {}
    slot: tuple[SlotForm, ...] = ()


class Watch(Entry):
    """A named look at the log: which sets a method judges.

    Attributes
    ----------
    window : str
        "week": all of them in the last trained week; "exposure": the last day they were done.
    added : str
        "any", "some" (added load) or "none".
    pick : str
        "all", or "top": the heaviest of the day, then the most reps.
    full_at, low_at : float
        A set is full at so many reps; a set is low under so many.
    """

    name: Slug
    exercises: Names
    window: Literal["week", "exposure"] = "week"
    added: Literal["any", "some", "none"] = "any"
    pick: Literal["all", "top"] = "all"
    full_at: float = 5
    low_at: float = 3


class Remembered(Entry):
    """A number the method carries from week to week, and where it starts."""

    name: Slug
    start: Formula
    say: str = ""


class Amount(Entry):
    """A named formula a method uses more than once."""

    name: Slug
    value: Formula


class Action(Entry):
    """One thing a rule does.

    Attributes
    ----------
    act : str
        One of the engine's verbs.
    name : str
        The remembered number to set, or the gate whose missing items are asked for.
    patterns, slots, exercises : tuple of str
        What it is done to; all of the plan when none is given.
    of : str
        Add the patterns of sore places at this grade ("stop", "ease", "returning"), or
        those screening has ruled out ("limited").
    loaded : bool
        Only lines with added load.
    in_all : bool
        ``fewer_sets``: so many in the whole week, not from every line.
    """

    act: Literal[
        "set", "scale_sets", "fewer_sets", "change_load", "keep_reps_left", "drop", "swap", "limit_reps",
        "limit_hard_sets", "deload", "test", "climb", "step_down", "ask", "refer", "heavy_days", "add",
        "no_sessions", "note",
    ]  # fmt: skip
    name: str = ""
    to: Formula | None = None
    patterns: Names = ()
    slots: Names = ()
    exercises: Names = ()
    strands: Names = ()
    of: Literal["", "stop", "ease", "returning", "limited"] = ""
    loaded: bool = False
    in_all: bool = False
    say: str = ""
    exercise: str = ""
    on: Names = ()


Decision = Literal[
    "add_load", "add_rep", "hold", "ease", "deload", "climb", "change_exercise", "stop_and_refer", "ask", ""
]
Phase = Literal["safety", "return", "progress", "recovery", "rung", "plan", "limit"]


class Rule(Judged):
    """A rule: when, what it does, what it says.

    Attributes
    ----------
    phase : str
        Rules run phase by phase, in the order of :data:`PHASES`.
    one_of : str
        Of the rules that share this word only the first that fires counts.
    not_with : tuple of str
        Not when one of these has fired.
    rungs : tuple of str
        Only on these rungs; all when empty.
    guard : bool
        A safety rule: the coach's overrule covers only what was known when it was said.
    evidence : tuple of str
        Facts whose evidence is shown; those of ``when`` if empty.
    """

    id: str
    name: str
    phase: Phase
    when: Formula
    decision: Decision = ""
    urgent: int = Field(default=0, ge=0, le=3)
    say: str
    would_change: str = ""
    one_of: str = ""
    not_with: Names = ()
    rungs: Names = ()
    guard: bool = False
    evidence: Names = ()
    do: tuple[Action, ...] = ()


class Method(Judged):
    """One way of training the pulling strand: its memory, what it watches, its rules and its lines."""

    id: Slug
    name: str
    for_whom: str
    number: dict[str, float] = {}
    remember: tuple[Remembered, ...] = ()
    amount: tuple[Amount, ...] = ()
    watch: tuple[Watch, ...] = ()
    rule: tuple[Rule, ...] = ()
    slot: tuple[SlotForm, ...] = ()


class Take(Entry):
    """What one session of a layout takes from a home day."""

    day: str
    strands: Names = ()
    without: Names = ()
    main: bool = False


class LayoutDay(Entry):
    """One session of a layout."""

    label: str
    title: str
    offset: int = Field(ge=0, le=6)
    take: tuple[Take, ...]
    budget: bool = True
    skill: bool = False


class Layout(Judged):
    """How home days become sessions for so many days a week."""

    days: int = Field(ge=1, le=7)
    day: tuple[LayoutDay, ...]


class Caution(Judged):
    """A caution or stop rule shown where the work is done."""

    id: Slug
    say: str
    patterns: Names = ()
    kit: Names = ()
    always: bool = False
    when: Formula | None = None


class StopFlag(Judged):
    """A sign that stops training and sends the athlete to see someone."""

    id: Slug
    say: str
    see: str
    within: str


class Site(Judged):
    """A place that can hurt, what people call it, and the patterns that load it."""

    id: Slug
    name: str
    aliases: Names = ()
    patterns: Names
    add: str = ""


class PainBands(Judged):
    """Pain scores (0-10) the rules act on."""

    calm_at: float
    ease_at: float
    stop_at: float
    refer_after_days: int
    calm_sessions: int
    look_back_days: int


class MarginForm(Judged):
    """One margin of the strength-or-technique answer: room is positive, short is negative."""

    name: str
    value: Formula
    sd: Formula | None = None
    unit: str
    per: Formula | None = None
    per_unit: str = ""


class Split(Judged):
    """One branch of the strength-or-technique answer, tried in order."""

    answer: str
    when: Formula
    say: str


class SkillForm(Entry):
    """The skill itself."""

    id: Slug
    name: str
    version: Annotated[str, AfterValidator(_label)]
    goal: str
    valid_rep: Names
    strands: Names
    attempt_exercise: str = ""
    one_side_first_gap_s: float | None = None
    default_method: str


@dataclass(frozen=True)
class Ladder:
    """A checked ladder; everything by id.

    ``version`` is the written version with the first letters of the SHA-256 of its
    files, so that two texts never share one; ``files`` are those texts.
    """

    skill: SkillForm
    version: str
    rungs: Mapping[str, Rung]
    gates: Mapping[str, Gate]
    rules: Mapping[str, Rule]
    remember: Mapping[str, Remembered]
    methods: Mapping[str, Method]
    exercises: Mapping[str, Exercise]
    faults: Mapping[str, Fault]
    tests: Mapping[str, Test]
    cautions: Mapping[str, Caution]
    flags: Mapping[str, StopFlag]
    sites: Mapping[str, Site]
    layouts: Mapping[int, Layout]
    pain: PainBands
    margins: tuple[MarginForm, ...]
    splits: tuple[Split, ...]
    battery: tuple[SlotForm, ...]
    files: tuple[tuple[str, str], ...]
    spoken: Mapping[str, str]
    left_out: frozenset[str] = frozenset()

    @property
    def name(self) -> str:
        """Name of the skill as shown."""
        return self.skill.name

    @cached_property
    def fingerprint(self) -> str:
        """SHA-256 of its texts, by which records know it."""
        return fingerprint(self.files)

    def exercise_named(self, text: str) -> Exercise | None:
        """Find the exercise people mean.

        Parameters
        ----------
        text : str
            An id, a code, a name or an alias, in any case, singular or plural, with
            or without hyphens.

        Returns
        -------
        Exercise or None
            None when nothing is called so.
        """
        for key in spoken_keys(text):
            if key in self.spoken:
                return self.exercises[self.spoken[key]]
        return None

    def test_named(self, text: str) -> Test | None:
        """Find a test by id or alias."""
        return self.tests.get(text) or next((t for t in self.tests.values() if text in t.aliases), None)

    def all_rules(self, method: str) -> tuple[Rule, ...]:
        """Rules of the ladder and of one method, in the order they are tried."""
        return self._in_phases[method]

    @cached_property
    def _in_phases(self) -> dict[str, tuple[Rule, ...]]:
        shared = tuple(self.rules.values())
        return {
            name: tuple(sorted((*shared, *method.rule), key=lambda rule: PHASES.index(rule.phase)))
            for name, method in self.methods.items()
        }

    def __reduce__(self) -> tuple[Any, ...]:
        """Travel to another process as the texts it was read from."""
        from overbar.ladder.loader import ladder_from_files

        return ladder_from_files, (self.files,)


PHASES = ("safety", "return", "recovery", "progress", "rung", "plan", "limit")


def spoken_keys(text: str) -> tuple[str, ...]:
    """Return the forms a spoken name is looked up by, most exact first.

    Examples
    --------
    >>> spoken_keys("Strict Pull-Ups")
    ('strict pull ups', 'strictpullups', 'strict pull up', 'strictpullup')
    """
    plain = " ".join(re.sub(r"[^a-z0-9]+", " ", text.casefold()).split())
    single = " ".join(word[:-1] if _plural(word) else word for word in plain.split())
    return tuple(dict.fromkeys((plain, plain.replace(" ", ""), single, single.replace(" ", ""))))


def _plural(word: str) -> bool:
    return len(word) > 2 and word.endswith("s") and not word.endswith("ss")
