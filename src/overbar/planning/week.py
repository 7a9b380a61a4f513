"""The weekly decision: history and ladder in, verdict and next week's sessions out."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from overbar.athlete.kit import BODY_MASS_ONLY, Band, Load
from overbar.ladder.form import Caution, Ladder, SlotForm
from overbar.planning.apply import apply, cap, count, ruled_out
from overbar.planning.case import make_case
from overbar.planning.draft import Line, Session, draft, fitting, make_line
from overbar.planning.facts import Facts, kit_loads
from overbar.planning.fault import Named, as_rule, drill_for, one_fault
from overbar.planning.gates import gate_state, placement
from overbar.planning.history import History, PastWeek
from overbar.planning.margins import UNKNOWN, margins, split
from overbar.planning.rules import Fired, Wanted, fire
from overbar.planning.verdict import (
    Decision,
    GateItem,
    GateState,
    PlannedSession,
    PlannedSlot,
    Verdict,
    Week,
)
from overbar.planning.volume import newest_strength
from overbar.strength import estimate
from overbar.strength.sets import LoggedSet, StrengthPoint

RANK: tuple[Decision, ...] = (
    "stop_and_refer",
    "change_exercise",
    "ask",
    "deload",
    "ease",
    "climb",
    "add_load",
    "add_rep",
    "hold",
)
"""Which decision speaks for the week when several rules fire: safety first, then recovery, then progress."""
MOST_QUESTIONS = 5
FAULT_DRILL_PLACE = 15
BAND_FAR_KG = 8.0
"""A band further than this from the help wanted is not used in its place."""


def strength_of(history: History, ladder: Ladder, on: date) -> tuple[StrengthPoint, ...]:
    """Estimate strength from the sets the ladder says show it, up to a day."""
    return estimate(pulls_of(history, ladder, on), history.athlete.sex, prior=history.prior)


def pulls_of(history: History, ladder: Ladder, on: date) -> list[LoggedSet]:
    """Return the sets that show pulling strength, as the ladder says, up to a day."""
    tests = {key for key, exercise in ladder.exercises.items() if exercise.strength_test}
    spoken = {one.exercise for one in history.sets}
    shows = {text for text in spoken if (found := ladder.exercise_named(text)) and found.id in tests}
    return [one for one in history.sets if one.exercise in shows and one.on <= on]


def decide(
    history: History, ladder: Ladder, on: date, strength: Sequence[StrengthPoint] | None = None
) -> Week:
    """Decide one athlete's next week.

    Parameters
    ----------
    history : History
        Everything known; rows dated after ``on`` are not looked at.
    ladder : Ladder
        Rungs, gates, rules and methods as data.
    on : datetime.date
        The day of the decision. It plans the week of the next Monday, or of the same
        day when that is a Monday.
    strength : sequence of StrengthPoint, optional
        Estimates made elsewhere; otherwise they are made from ``history.sets``.

    Returns
    -------
    Week
        Verdict with every rule that fired and its evidence, and the sessions in loads
        this athlete's kit can make. The same arguments give the same week, always.
    """
    points = strength_of(history, ladder, on) if strength is None else tuple(strength)
    case = make_case(history, ladder, on, points)
    facts = Facts(case, next(iter(ladder.rungs.values())))
    placed = placement(case, facts)
    facts.on_rung(placed.rung)
    fired = fire(facts, ("safety", "return", "recovery", "progress", "rung"))
    _change_rung(facts, fired)
    fired += fire(facts, ("plan",))
    wanted = [one for each in fired for one in each.wanted]
    named = one_fault(facts)
    if named is not None:
        fired.append(as_rule(named))
        wanted += fired[-1].wanted
    sessions = [] if _has(wanted, "no_sessions") else _sessions(facts, wanted, named)
    fired += _capped(facts, sessions)
    verdict = _verdict(facts, fired, named, sessions, placed.assumed)
    deload = _has(wanted, "deload")
    planned = tuple(_planned_session(facts, session) for session in sessions if session.lines)
    return Week(verdict, planned, tuple(sorted(facts.remembered.items())), deload)


def past_week(week: Week, overruled: str = "") -> PastWeek:
    """Return what later decisions must remember of a week.

    Parameters
    ----------
    week : Week
        As decided, or as the coach changed it.
    overruled : str
        The coach's reason when it was changed or refused.
    """
    slots = tuple(
        (session.label, slot.exercise, slot.sets, slot.reps_low, slot.reps_high, slot.load.added_kg)
        for session in week.sessions
        for slot in session.slots
    )
    top = max((slot[5] for slot in slots), default=None)
    return PastWeek(
        starts=week.verdict.week_starts,
        rung=week.verdict.rung,
        decision=week.verdict.decision,
        rules=tuple(rule.id for rule in week.verdict.rules if not rule.ignored),
        deload=week.deload,
        top_added_kg=top,
        fault=week.verdict.fault,
        slots=slots,
        state=week.state,
        overruled=overruled,
        stops=stops_of(week),
    )


def stops_of(week: Week) -> tuple[tuple[str, float], ...]:
    """Return the exercises that stop at a total of the week, and those reps."""
    slots = (slot for session in week.sessions for slot in session.slots)
    return tuple({slot.exercise: slot.week_reps for slot in slots if slot.week_reps is not None}.items())


def _has(wanted: Sequence[Wanted], act: str) -> bool:
    return any(one.action.act == act for one in wanted)


def _change_rung(facts: Facts, fired: Sequence[Fired]) -> None:
    ladder = facts.case.ladder
    for each in fired:
        for one in each.wanted:
            if one.action.act == "climb" and facts.rung.gate:
                facts.on_rung(ladder.rungs[ladder.gates[facts.rung.gate].to_rung])
            elif one.action.act == "step_down" and (one.action.to is None or one.amount):
                below = [g.from_rung for g in ladder.gates.values() if g.to_rung == facts.rung.id]
                if below:
                    facts.on_rung(ladder.rungs[below[0]])


# --- sessions -------------------------------------------------------------


def _sessions(facts: Facts, wanted: Sequence[Wanted], named: Named | None) -> list[Session]:
    heavy = [one.amount for one in wanted if one.action.act == "heavy_days" and one.amount is not None]
    sessions = draft(facts, round(min(heavy)) if heavy else None)
    if named is not None:
        _put_drill(facts, sessions, wanted, named)
    apply(facts, sessions, wanted)
    return sessions


def _put_drill(facts: Facts, sessions: list[Session], wanted: Sequence[Wanted], named: Named) -> None:
    """Put the fault's drill on the skill day in place of a line of the same strand."""
    banned = ruled_out(facts, wanted)
    drill = drill_for(facts, named.fault, lambda exercise: fitting(facts, exercise, banned) is exercise)
    if drill is None:
        return
    slots = [s for s in facts.rung.slot if s.fault_drill]
    days = [s for s in sessions if s.day.skill] or sessions[:1]
    for session in days:
        already = next((x for x in session.lines if x.exercise.id == drill.id), None)
        if already is not None:
            already.note = f"{named.fault.cue} {already.note}".strip()
            already.rules.append(named.fault.id)
            continue
        form = slots[0] if slots else _drill_form(drill.id)
        line = make_line(facts, form, drill, round(facts.amount(form.sets, drill.sets)))
        line.reps_low, line.reps_high = drill.reps
        line.seconds = drill.seconds
        line.note = named.fault.cue
        line.rules.append(named.fault.id)
        same = [
            x for x in session.lines if x.exercise.strand == drill.strand and not (x.form.main or x.form.film)
        ]
        if same and not slots:
            session.lines.remove(same[-1])
        session.lines.append(line)


def _drill_form(exercise: str) -> SlotForm:
    return SlotForm(name="drill", exercise=exercise, place=FAULT_DRILL_PLACE, film=True)


def _capped(facts: Facts, sessions: list[Session]) -> list[Fired]:
    """Run the rules about the week as a whole until none of them changes it."""
    fired: dict[str, Fired] = {}
    for _ in range(3):
        count(facts, sessions)
        new = fire(facts, ("limit",))
        if not new or all(each.rule.id in fired and not each.wanted for each in new):
            break
        cap(facts, sessions, [one for each in new for one in each.wanted])
        for each in new:
            fired.setdefault(each.rule.id, each)
    count(facts, sessions)
    return list(fired.values())


def _planned_session(facts: Facts, session: Session) -> PlannedSession:
    slots = tuple(_planned_slot(facts, line) for line in session.lines)
    return PlannedSession(session.day.label, session.on, session.day.title, slots, _cautions(facts, session))


def _planned_slot(facts: Facts, line: Line) -> PlannedSlot:
    exercise, exercises = line.exercise, facts.case.ladder.exercises
    swaps = tuple(name for name in exercise.swaps if fitting(facts, exercises[name], ()) is exercises[name])
    return PlannedSlot(
        exercise=exercise.id,
        name=exercise.name,
        sets=line.sets,
        reps_low=line.reps_low,
        reps_high=line.reps_high,
        load=_load(facts, line),
        seconds=line.seconds,
        rest_s=line.rest_s,
        reps_left=line.reps_left,
        note=_note(line),
        strand=exercise.strand,
        film=line.form.film,
        swaps=swaps,
        why=", ".join(line.rules),
        week_reps=line.week_reps,
    )


def _note(line: Line) -> str:
    note = line.note or line.exercise.do
    if line.week_reps is None:
        return note
    return f"{line.week_reps:.0f} reps over the whole week, then stop. {note}"


def _load(facts: Facts, line: Line) -> Load:
    """Return the load of the kit for a line: the heaviest not above the wanted one, or the nearest band."""
    kit = facts.case.athlete.kit
    if line.load_kg > 0:
        return [load for load in kit_loads(kit) if load.added_kg <= line.load_kg + 0.005][-1]
    if line.exercise.load_kind == "assistance" and facts.look("has_band") == 1:

        def distance(band: Band) -> float:
            return abs(band.help_at_mid_pull_kg + line.load_kg)

        band = min(kit.bands, key=lambda b: (distance(b), b.name))
        if (
            line.load_kg >= 0
            or distance(band) <= BAND_FAR_KG + 0.25 * -line.load_kg
            or "band" in line.exercise.kit
        ):
            return Load(-band.help_at_mid_pull_kg, (band.name,))
    return BODY_MASS_ONLY


def _cautions(facts: Facts, session: Session) -> tuple[str, ...]:
    patterns = {line.exercise.pattern for line in session.lines}
    things = {thing for line in session.lines for thing in line.exercise.kit}

    def shown(caution: Caution) -> bool:
        about = caution.always or patterns & set(caution.patterns) or things & set(caution.kit)
        return bool(about) and facts.holds(caution.when)

    own = {name for line in session.lines for name in line.exercise.cautions}
    cautions = facts.case.ladder.cautions.values()
    return (*session.notes, *(c.say for c in cautions if shown(c) or c.id in own))


# --- verdict --------------------------------------------------------------


def _verdict(
    facts: Facts,
    fired: Sequence[Fired],
    named: Named | None,
    sessions: Sequence[Session],
    assumed: tuple[GateItem, ...],
) -> Verdict:
    case = facts.case
    active = [each for each in fired if not each.shown.ignored]
    deciding = min(
        (each for each in active if each.rule.decision),
        key=lambda each: RANK.index(each.rule.decision or "hold"),
        default=None,
    )
    gate = gate_state(facts, facts.rung.gate) if facts.rung.gate else None
    branch = split(facts)
    drill = _drill_planned(named, sessions)
    rules = tuple(each.shown for each in fired)
    return Verdict(
        athlete_id=case.athlete.id,
        on=case.on,
        week_starts=case.week_starts,
        rung=facts.rung.id,
        rung_name=facts.rung.name,
        decision=deciding.rule.decision or "hold" if deciding else "hold",
        headline=deciding.shown.say if deciding else "Same week again: nothing asks for a change.",
        urgent=max((each.rule.urgent for each in active), default=0),
        rules=rules,
        gate=gate,
        strength=newest_strength(case),
        strength_or_technique=branch.answer if branch else (UNKNOWN if case.ladder.splits else ""),
        margins=margins(facts),
        fault=named.fault.id if named else None,
        fault_name=named.fault.name if named else None,
        cue=named.fault.cue if named else None,
        drill=drill,
        questions=_questions(facts, active, gate, assumed),
        referral="; ".join(
            dict.fromkeys(one.say for each in active for one in each.wanted if one.action.act == "refer")
        ),
        ladder_version=case.ladder.version,
        strength_from=case.history.prior,
    )


def _drill_planned(named: Named | None, sessions: Sequence[Session]) -> str | None:
    if named is None:
        return None
    lines = [line for session in sessions for line in session.lines if named.fault.id in line.rules]
    return lines[0].exercise.id if lines else None


def _questions(
    facts: Facts, active: Sequence[Fired], gate: GateState | None, assumed: tuple[GateItem, ...]
) -> tuple[str, ...]:
    wanted = [one for each in active for one in each.wanted if one.action.act == "ask"]
    asked = [one.say for one in wanted if one.say]
    unknown = [item for item in assumed if item.met is None]
    for name in (one.action.name for one in wanted if one.action.name):
        unknown += [item for item in gate_state(facts, name).items if item.hard and item.met is not True]
    if gate is not None:
        unknown += [item for item in gate.items if item.hard and item.met is None]
    tests = facts.case.ladder.tests
    asked += [tests[item.test].ask for item in unknown if tests[item.test].ask]
    return tuple(dict.fromkeys(asked))[:MOST_QUESTIONS]
