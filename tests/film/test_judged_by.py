"""A coach's own limits decide which faults a film shows."""

from overbar.film.faults import fault_data, judged_by
from overbar.ladder import ladder_from_files, load_ladder


def test_faults_are_looked_for_by_the_limits_of_the_athletes_ladder():
    shipped = load_ladder()
    name, text = next((n, t) for n, t in shipped.files if n.endswith("faults.toml"))
    fault = next(one for one in shipped.faults.values() if one.conditions)
    changed = text.replace(f'cue = "{fault.cue}"', 'cue = "Long arms."')
    assert changed != text
    other = ladder_from_files((n, changed if n == name else t) for n, t in shipped.files)
    with judged_by(other):
        assert fault_data().faults[fault.id].cue == "Long arms."
        with judged_by(load_ladder("front_lever")):
            assert fault_data() is shipped
    assert fault_data() is shipped
