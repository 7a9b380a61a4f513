"""The reply to a film: three sentences filled from its parts, for the coach to edit and send.

What was seen (one number), what to do next time (the cue), what changes this
week (the drill): the form of the trade (own judgement, handbook trade.md 3.6).
"""

from __future__ import annotations

from overbar.desk.figures import length, measured, number, plural
from overbar.desk.filming import Help, help_for
from overbar.film.reading import FoundFault, Reading
from overbar.ladder import Ladder

PEAK = "peak_shoulder_L"


def reply(reading: Reading, ladder: Ladder, first_name: str = "") -> str:
    """Return the three sentences, each on its own line.

    Parameters
    ----------
    reading : Reading
        What the film says.
    ladder : Ladder
        For the drill's name and dose.
    first_name : str
        Greets the athlete when given.
    """
    if not reading.usable:
        why = reading.problems[0].say if reading.problems else ""
        return reply_to_unusable(why, help_for(problem.id for problem in reading.problems), first_name)
    greeting = f"{first_name}, " if first_name else ""
    main = next((fault for fault in reading.faults if fault.id == reading.main_fault), None)
    seen = _seen(reading, main)
    cue = reading.cue.rstrip(".") if reading.cue else "the same again, just as calm"
    drill = ladder.exercises.get(reading.drill)
    if drill:
        week = f"This week starts with {_lower(drill.name)}" + (f", {drill.dose}" if drill.dose else "")
    else:
        week = "Nothing changes in the plan this week"
    return "\n".join((_sentence(greeting + seen), _sentence(f"Next time: {_lower(cue)}"), _sentence(week)))


def reply_to_unusable(why: str, filming: Help, first_name: str = "") -> str:
    """Return the three sentences for a film nothing can be measured in.

    Parameters
    ----------
    why : str
        What was wrong with it.
    filming : Help
        How to film it next time.
    first_name : str
    """
    greeting = f"{first_name}, " if first_name else ""
    wrong = _lower(why) if why else "nothing in it could be made out"
    return "\n".join(
        (
            _sentence(f"{greeting}thank you for the film; I cannot measure it: {wrong}"),
            filming.say,
            "Until then the plan goes by your log.",
        )
    )


def _seen(reading: Reading, main: FoundFault | None) -> str:
    hang_m = reading.hang_length.m if reading.hang_length else None
    if reading.attempts:
        peaks = [attempt.measures[PEAK] for attempt in reading.attempts if PEAK in attempt.measures]
        peak = max(peaks, key=lambda measured: measured.value, default=None)
        height = ""
        if peak:
            over = "over" if peak.value >= 0 else "under"
            distance = (
                length(abs(peak.value) * hang_m, peak.sd * hang_m)
                if hang_m
                else measured(abs(peak.value), peak.sd, "L")
            )
            height = f"your shoulders reached {distance} {over} the bar"
        fault = f"what held it back was: {_lower(main.name)}" if main else "I saw nothing to mend"
        return " and ".join(part for part in (height, fault) if part)
    pulls = [rep for rep in reading.reps if rep.kind == "pull_up"]
    if pulls:
        counted = plural(reading.counted, "strict pull-up")
        short = [rep for rep in pulls if not rep.counted]
        missed = f" of {len(pulls)}; the others do not count: {_lower(short[0].why_not)}" if short else ""
        return f"I counted {counted}{missed}"
    if main:
        return f"I saw {_lower(main.name)} at {number(main.at_s, 1)} s"
    return "I watched it through and saw nothing to mend"


def _lower(text: str) -> str:
    return text[:1].lower() + text[1:] if text[:2] != "I " else text


def _sentence(text: str) -> str:
    text = text.strip()
    text = text[:1].upper() + text[1:]
    return text if text.endswith((".", "!", "?")) else text + "."
