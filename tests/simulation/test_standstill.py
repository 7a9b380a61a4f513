"""What counts as a true standstill, and as a call that found it."""

from overbar.simulation.standstill import judge, together

RISES, STANDS = 0.006, 0.0
"""Log strength a week."""


def life(*pace):
    """True log strength week by week, from what it moves by."""
    strength = [0.0]
    for step in pace[:-1]:
        strength.append(strength[-1] + step)
    return strength


def calls(*weeks, of):
    return [k in weeks for k in range(of)]


def test_a_call_while_strength_rises_is_wrong():
    pace = [RISES] * 30
    seen = judge(life(*pace), calls(12, 20, of=30))
    assert (seen.weeks, seen.wrong, seen.spells) == (2, 2, 0)
    assert (seen.rising, seen.called) == (22, 2)


def test_a_standstill_is_found_by_a_call_within_four_weeks_of_its_sixth():
    pace = [RISES] * 12 + [STANDS] * 14
    # it has lasted six weeks in week 18; a gain of a week before still counts as one of the six
    for week, found in ((11, 0), (16, 1), (18, 1), (21, 1), (24, 0)):
        seen = judge(life(*pace), calls(week, of=26))
        assert (seen.spells, seen.found) == (1, found), week


def test_a_call_in_a_standstill_is_not_wrong():
    pace = [RISES] * 12 + [STANDS] * 14
    assert judge(life(*pace), calls(21, of=26)).wrong == 0


def test_lives_are_added_up():
    pace = [RISES] * 12 + [STANDS] * 14
    one = judge(life(*pace), calls(18, of=26))
    both = together([one, one])
    assert (both.spells, both.found, both.weeks) == (2, 2, 2)
