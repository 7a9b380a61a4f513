"""Every rule of every shipped ladder fires in a scripted history, and does what it says it does."""

from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta

import pytest
from tests.planning.people import (
    CLEAR,
    FULL_KIT,
    LOW,
    MONDAY,
    RIG,
    SUNDAY,
    athlete,
    fired,
    history,
    no_pain,
    ready_for_tries,
    seen,
    sessions,
    sleep,
    slots,
    strong,
    week_of_sets,
)
from tests.planning.test_rules import FLAT, LIGHT, lived

from overbar.athlete.kit import Kit, Plate
from overbar.athlete.screening import Limit, Screening
from overbar.ladder import load_ladder, shipped
from overbar.planning import decide
from overbar.planning.history import (
    AttemptLog,
    BodyNote,
    FilmFinding,
    Measurement,
    PainReport,
    PastWeek,
    SessionLog,
)
from overbar.planning.verdict import Week
from overbar.planning.week import RANK
from overbar.strength.sets import LoggedSet

LADDERS = {name: load_ladder(name) for name in shipped()}
LADDER = LADDERS["bar_muscle_up"]
USUAL = [[5, 5, 5, 5], [5, 5, 5], [5, 5, 5]]
TOP, BUDGET = "top_set_back_off", "weekly_budget"


def back(weeks):
    return MONDAY - timedelta(weeks=weeks)


def log(weeks=2, reps=USUAL, last=MONDAY, exercise="strict_pull_up", **more):
    """Trained weeks in a row with the same sets."""
    mondays = [last - timedelta(weeks=n) for n in range(weeks)]
    return {
        "sets": tuple(s for m in mondays for s in week_of_sets(m, reps, exercise=exercise, **more)),
        "sessions": tuple(s for m in mondays for s in sessions(m)),
        "pain": tuple(r for m in mondays for r in no_pain(m)),
    }


def on_rung(rung, *rules, state=(), before=(), **more):
    return {"weeks": (*before, PastWeek(MONDAY, rung, "hold", rules, state=tuple(state), **more))}


def week(rung="", R=1.28, who=None, rules=(), state=(), on=SUNDAY, method="", skill="bar_muscle_up", **rows):
    person = who or athlete()
    if method:
        person = replace(person, method=method)
    person = replace(person, skill=skill, method=person.method if method else "")
    rows = log() | (on_rung(rung, *rules, state=state) if rung else {}) | rows
    points = strong(min(on, SUNDAY), R, person.body_mass_kg) if R else ()
    return decide(history(person, **rows), LADDERS[skill], on, points)


def pain(*levels, site="inner elbow", **more):
    """Pain in the last sessions, oldest first."""
    days = [SUNDAY - timedelta(days=2 * n) for n in reversed(range(len(levels)))]
    return tuple(PainReport(d, site, float(n), float(n), **more) for d, n in zip(days, levels, strict=True))


def weighted(reps, added, left=None, method=TOP, top_kg=10.0, rung="S2", rules=(), **more):
    """One top set a week ago or so, and what the program remembers."""
    top = LoggedSet(MONDAY, "weighted_pull_up", 78.0, added, reps, left, session="A")
    rows = {"sets": (*log(1)["sets"], top)} | more
    state = (("top_kg", top_kg), ("loading", 1.0), ("top_reps", 5.0), ("back_sets", 3.0))
    return week(rung, rules=rules, state=state, method=method, **rows)


def budget(loaded=(), added=10.0, plain=USUAL, kept=10.0, rung="S2", who=None, rules=(), **rows):
    done = week_of_sets(MONDAY, loaded, added, exercise="weighted_pull_up") if loaded else ()
    kept_now = (("loaded_kg", kept), ("budget", 50.0))
    plain_sets = week_of_sets(MONDAY, plain, start=50) if plain else ()
    return week(
        rung, who=who, rules=rules, state=kept_now, method=BUDGET, **({"sets": (*done, *plain_sets)} | rows)
    )


def stalled(rules=(), **more):
    weeks = (LIGHT, PastWeek(MONDAY, "S1", "hold", rules))
    return decide(history(**(lived(*FLAT) | {"weeks": weeks} | more)), LADDER, SUNDAY)


def years(age):
    return athlete(born=SUNDAY.replace(year=SUNDAY.year - age))


def screened(**answers):
    return athlete(screening=replace(CLEAR, **answers))


def fresh_after(days):
    """The last logged week ended so many days before the decision."""
    return SUNDAY + timedelta(days=days - 2)


def away(days, **rows):
    on = fresh_after(days)
    return week("S2", on=on, **rows)


LOADED = [[5, 5], [5, 5], [5]]
HEAVY_ONLY = athlete(kit=Kit("belt", (Plate(10, 2),), bars=(RIG, LOW), box=True))
BARE = athlete(kit=Kit(bars=(RIG, LOW), box=True))
G4_OPEN = {"measurements": ready_for_tries(SUNDAY), "pain": log(3)["pain"]}
MONTH = (*seen(back(4) + timedelta(days=3), swing_high_L=0.05), *seen(SUNDAY, swing_high_L=0.05))


def rising_strength():
    points = tuple(
        replace(strong(SUNDAY, 1.30 + 0.004 * n)[0], on=SUNDAY - timedelta(days=35 - 5 * n)) for n in range(8)
    )
    rows = log(1) | on_rung("S3") | {"measurements": MONTH}
    return decide(history(**rows), LADDER, SUNDAY, points)


def valid(on=SUNDAY - timedelta(days=1)):
    return (AttemptLog(on, 1, "valid", 0.25, source="film", ref="film 1"),)


def failed(count, day=SUNDAY - timedelta(days=1), peaks=()):
    heights = [*peaks, *([0.15] * (count - len(peaks)))]
    return tuple(AttemptLog(day, n + 1, "failed", heights[n], source="film") for n in range(count))


def coming_back(shares, *levels):
    return week("S2", state=(("pain_share", shares),), pain=pain(*levels))


CASES: dict[str, Callable[[], Week]] = {
    "PAIN-RED": lambda: week("S2", pain=pain(2, flags=("pop",))),
    "SCREEN-FIRST": lambda: week("S2", who=screened(symptoms_now=True)),
    "U-CHILD": lambda: week("S1", who=years(12)),
    "PAIN-5": lambda: week("S2", pain=pain(5, 6)),
    "PAIN-3": lambda: week("S2", pain=pain(3, 4)),
    "PAIN-BACK": lambda: coming_back(0.5, 4, 4, 1, 1),
    "PAIN-ASK": lambda: week("S2", state=(("pain_share", 0.5),), pain=()),
    "SCREEN-HARD": lambda: week("S2", who=screened(known_disease=True)),
    "SCREEN-ASK": lambda: week("S1", who=athlete(screening=Screening())),
    "LIMITS": lambda: week("S2", who=screened(limits=(Limit("swing", "old shoulder strain"),))),
    "U-YOUTH": lambda: week("S2", who=years(16)),
    "NEW": lambda: decide(history(), LADDER, SUNDAY),
    "ILL": lambda: week(
        "S2", sessions=(*log(1)["sessions"], SessionLog(SUNDAY, "C", False, reason="ill, fever"))
    ),
    "GAP-X": lambda: away(50),
    "GAP-42": lambda: away(30),
    "GAP-21": lambda: away(17),
    "GAP-14": lambda: away(10),
    "GAP-7": lambda: away(6),
    "GAP-LATER": lambda: week("S1", rules=("GAP-42",)),
    "LOG-7": lambda: away(8),
    "MISS-1": lambda: week(
        "S2", sessions=sessions(MONDAY, "AB", reason="work"), sets=log(1, USUAL[:2])["sets"]
    ),
    "V-DOWN": lambda: week(
        "S2",
        body=sleep(MONDAY, 5.0),
        sessions=tuple(replace(s, effort=9.5) for s in log(2)["sessions"]),
    ),
    "D-T": lambda: week(
        "S2",
        rules=("V-DOWN",),
        body=sleep(MONDAY, 5.0),
        sessions=tuple(replace(s, effort=9.5) for s in log(2)["sessions"]),
    ),
    "D-S": lambda: week("S2", **log(5)),
    "D-PRE": lambda: week("S3", R=1.40, **(log(4) | {"measurements": ready_for_tries(SUNDAY)})),
    "D-TEST": lambda: week("", **on_rung("S2", deload=True)),
    "STALL-1": lambda: stalled(),
    "STALL-2": lambda: stalled(("STALL-1",)),
    "STALL-3": lambda: decide(
        history(
            **lived(*FLAT), weeks=tuple(PastWeek(back(n), "S1", "hold", ("STALL-2",)) for n in (2, 1, 0))
        ),
        LADDER,
        SUNDAY,
    ),
    "STALL-4": rising_strength,
    "W-2": lambda: week(
        "S2",
        body=tuple(
            BodyNote(SUNDAY - timedelta(days=d), 78.0 * (1 + 0.012 * d / 7), None) for d in range(0, 24, 2)
        ),
    ),
    "U-40": lambda: week("S2", who=years(45)),
    "KIT-ASK": lambda: week("S1", who=athlete(kit=Kit())),
    "FILM-ASK": lambda: week("S2", films=(FilmFinding(SUNDAY, "f1", "swing_high_pull", False, None),)),
    "PAIN-NEWS": lambda: week("S2", pain=()),
    "V-CAP": lambda: week("S1", **log(4, [[5, 5], [5, 5], [5, 5]])),
    "V-BACK": lambda: week(
        "",
        weeks=(PastWeek(back(1), "S1", "ease", ("PAIN-BACK",)), PastWeek(MONDAY, "S1", "hold")),
        **log(3, [[5], [5], [5]]),
    ),
    "V-HARD": lambda: week(
        "S1",
        R=1.05,
        method=TOP,
        measurements=seen(MONDAY, strict_pull_ups=6),
        state=(("base_sets", 12.0), ("best", 6.0)),
    ),
    "BASE": lambda: week("S0", R=1.0, **log(2, [[2, 2], [2, 2], [2]])),
    "CLIMB": lambda: week("S3", R=1.40, **G4_OPEN),
    "ATT-1": lambda: week("S4", R=1.40),
    "ATT-20": lambda: week("S4", R=1.40, attempts=failed(20), **G4_OPEN),
    "ATT-WIN": lambda: week("S4", R=1.40, attempts=valid(), **G4_OPEN),
    "ATT-STOP": lambda: week(
        "S4", R=1.40, attempts=failed(5, peaks=(0.20, 0.21, 0.14, 0.13, 0.12)), **G4_OPEN
    ),
    "NO-SWING": lambda: week("S2", who=athlete(kit=replace(FULL_KIT, bars=(LOW,)))),
    "U-HVY": lambda: week("S3", who=athlete(body_mass_kg=104.0), **log(2, body=104.0)),
    # --- top set with back-offs
    "B-UP": lambda: week("S1", method=TOP, state=(("best", 6.0),), **log(2, [[7, 4, 4], [4, 4], [4]])),
    "B-HOLD": lambda: week("S1", method=TOP, state=(("best", 5.0),), **log(2)),
    "L-OWN": lambda: weighted(5, 15.0, 2.0),
    "L-BM": lambda: week(
        "S2",
        method=TOP,
        state=(("top_kg", 10.0), ("loading", 1.0)),
        sets=(LoggedSet(MONDAY, "weighted_pull_up", 78.0, 10.0, 5, 1.0, session="A"),),
        body=tuple(BodyNote(SUNDAY - timedelta(days=d), 80.0, None) for d in range(5)),
    ),
    "L-START": lambda: week("S2", method=TOP, state=(("top_kg", 0.0), ("loading", 0.0))),
    "L-DOWN": lambda: weighted(
        2,
        10.0,
        0.0,
        rules=("L-HOLD",),
        sets=(
            *week_of_sets(back(1), USUAL),
            LoggedSet(back(1), "weighted_pull_up", 78.0, 10.0, 2, 0.0, session="A"),
            *week_of_sets(MONDAY, USUAL),
            LoggedSet(MONDAY, "weighted_pull_up", 78.0, 10.0, 2, 0.0, session="A"),
        ),
    ),
    "L-HOLD": lambda: weighted(2, 10.0, 0.0),
    "L-UP2": lambda: weighted(5, 10.0, 3.0),
    "L-UP1": lambda: weighted(5, 10.0, 1.0),
    "L-STEP": lambda: week(
        "S2",
        who=HEAVY_ONLY,
        method=TOP,
        state=(("top_kg", 10.0), ("loading", 1.0), ("top_reps", 5.0)),
        sets=(LoggedSet(MONDAY, "weighted_pull_up", 78.0, 10.0, 5, 1.0, session="A"),),
    ),
    "L-AGAIN": lambda: week(
        "S2", who=HEAVY_ONLY, method=TOP, state=(("top_kg", 10.0), ("loading", 1.0)), **log(2)
    ),
    "L-BACK": lambda: week("S2", method=TOP, state=(("top_kg", 10.0), ("loading", 1.0)), **log(2)),
    "L-REP": lambda: weighted(4, 10.0, 1.0),
    "L-NOWT": lambda: week("S2", who=BARE, method=TOP),
    "D-AMRAP": lambda: week(
        "",
        method=TOP,
        weeks=tuple(
            PastWeek(back(n), "S2", "hold", ("L-REP",), state=(("top_kg", 10.0), ("loading", 1.0)))
            for n in (1, 0)
        ),
        sets=(LoggedSet(MONDAY, "weighted_pull_up", 78.0, 10.0, 4, 1.0, session="A"),),
    ),
    "V-UP": lambda: weighted(4, 10.0, 1.0, rules=("L-REP",)),
    # --- weekly budget
    "WB-START": lambda: decide(
        history(
            measurements=(Measurement(SUNDAY, "strict_pull_ups", 6, 1, "film"),), **log(1, [[5, 4], [4]])
        ),
        LADDER,
        SUNDAY,
        strong(SUNDAY, 1.19),
    ),
    "WB-OWN": lambda: budget(LOADED, 12.5),
    "WB-DOWN": lambda: budget([[5, 4], [3, 2]], 10.0),
    "WB-AGAIN": lambda: budget((), kept=10.0, who=HEAVY_ONLY),
    "WB-BACK": lambda: budget((), kept=15.0),
    "WB-UP": lambda: budget(LOADED, 10.0),
    "WB-FIRST": lambda: budget((), kept=0.0),
    "WB-STEP": lambda: budget((), kept=0.0, who=HEAVY_ONLY),
    "WB-NOWT": lambda: budget((), kept=0.0, who=BARE),
    "WB-GROW": lambda: budget([[4, 4], [4, 4], [4, 4]], 10.0),
    "WB-HOLD": lambda: budget([[4, 4], [4, 3]], 10.0, plain=[[5, 4]]),
    "WB-FAST": lambda: budget([[4, 4], [4, 4]], 20.0, kept=20.0),
}


def pressed(exercise, reps, rung="H1", state=(), sure=1, **tests):
    """A decision on the wall handstand push-up after sets of one exercise."""
    sets = week_of_sets(MONDAY, [reps[:2], reps[2:]], exercise=exercise)
    shown = seen(SUNDAY, pressure_ok=sure, **tests)
    skill = "wall_handstand_push_up"
    return week(rung, skill=skill, who=RINGS, sets=sets, measurements=shown, state=state)


def ringed(reps, added=0.0, kept=0.0):
    """A decision on the strict ring muscle-up after sets of pull-ups."""
    sets = week_of_sets(MONDAY, reps, added)
    skill = "strict_ring_muscle_up"
    return week("R1", skill=skill, who=RINGS, sets=sets, state=(("load_kg", kept),))


RINGS = athlete(kit=replace(FULL_KIT, others=("rings", "parallel bars", "handles", "wall", "scales")))
LONGER = (*seen(back(4) + timedelta(days=3), tuck_s=8), *seen(SUNDAY, tuck_s=10))
CASES_ELSEWHERE: dict[str, Callable[[], Week]] = {
    "LV-UP": lambda: week("F1", skill="front_lever", measurements=LONGER),
    "LV-HOLD": lambda: week("F1", skill="front_lever"),
    "RP-DOWN": lambda: ringed([[5, 2], [3]], 10.0, 10.0),
    "RP-UP": lambda: ringed([[5, 5], [5]], 10.0, 10.0),
    "RP-REP": lambda: ringed([[4, 4], [4]]),
    "UPSIDE-DOWN": lambda: pressed("pike_push_up", (6, 6, 6), sure=0),
    "HS-DOWN": lambda: pressed("wall_hspu", (1, 1, 1), "H3", (("stack_cm", 10.0),)),
    "HS-UP": lambda: pressed("wall_hspu", (3, 3, 3, 3), "H3", (("stack_cm", 10.0),)),
    "HS-REP": lambda: pressed("pike_push_up", (6, 6, 6)),
    "HS-HOLD": lambda: pressed("pike_push_up", (9, 9, 9)),
}


ALL = [
    (name, rule)
    for name, ladder in LADDERS.items()
    for rule in (*ladder.rules, *(r.id for m in ladder.methods.values() for r in m.rule))
    if name == "bar_muscle_up" or rule not in LADDER.rules
]
OWN = [rule for name, rule in ALL if name == "bar_muscle_up"]
ELSEWHERE = [rule for name, rule in ALL if name != "bar_muscle_up"]


def test_every_rule_has_a_scripted_history():
    missing = [rule for rule in OWN if rule not in CASES]
    missing += [rule for rule in ELSEWHERE if rule not in CASES_ELSEWHERE]
    assert not missing, f"no scripted history for {missing}"
    assert set(CASES) == set(OWN)
    assert set(CASES_ELSEWHERE) == set(ELSEWHERE)


@pytest.mark.parametrize("rule_id", ELSEWHERE)
def test_every_rule_of_the_other_skills_fires(rule_id):
    planned = CASES_ELSEWHERE[rule_id]()
    assert rule_id in fired(planned), f"{rule_id} did not fire; fired: {sorted(fired(planned))}"


def rule_of(rule_id):
    rules = [*LADDER.rules.values(), *(r for m in LADDER.methods.values() for r in m.rule)]
    return next(rule for rule in rules if rule.id == rule_id)


@pytest.mark.parametrize("rule_id", OWN)
def test_every_rule_fires_and_does_what_it_asks(rule_id):
    planned = CASES[rule_id]()
    assert rule_id in fired(planned), f"{rule_id} did not fire; fired: {sorted(fired(planned))}"
    rule = rule_of(rule_id)
    shown = next(one for one in planned.verdict.rules if one.id == rule_id)
    assert "{" not in shown.say
    assert shown.basis
    assert shown.why
    if rule.decision:
        assert RANK.index(planned.verdict.decision) <= RANK.index(rule.decision)
    assert planned.verdict.urgent >= rule.urgent
    for action in rule.do:
        assert done(planned, rule_id, action), f"{rule_id}: {action.act} was not done"


def done(planned, rule_id, action):
    """Say whether an action of a rule can be seen in the week."""
    lines = slots(planned)
    marked = [slot for slot in lines if rule_id in slot.why.split(", ")]
    patterns = {LADDER.exercises[slot.exercise].pattern for slot in lines}
    match action.act:
        case "no_sessions":
            return not planned.sessions
        case "deload":
            return planned.deload
        case "refer":
            return bool(planned.verdict.referral)
        case "ask":
            return bool(planned.verdict.questions)
        case "set":
            return action.name in dict(planned.state)
        case "test":
            return any("test" in slot.why.split(", ") for slot in lines)
        case "climb":
            return planned.verdict.rung == "S4"
        case "step_down":
            return planned.verdict.rung == "S1"
        case "drop":
            if action.to is not None or action.on or action.of:
                return True
            return not patterns & set(action.patterns)
        case "note":
            said = any(action.say in c for s in planned.sessions for c in s.cautions)
            return bool(marked) or said or action.to is not None
        case "scale_sets" | "limit_reps" | "limit_hard_sets" | "swap" | "add":
            return bool(marked) or action.to is not None
    return True
