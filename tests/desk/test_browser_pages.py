"""The coach's way through the day, in a real browser on the demo's records."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest

if TYPE_CHECKING:
    from tests.desk.conftest import Served

pytestmark = [pytest.mark.browser, pytest.mark.xdist_group("browser")]


def test_the_first_page_puts_pain_first_and_reads_without_a_mouse(served: Served, page: Any) -> None:
    page.goto(served.url)
    assert "Who needs you today" in page.inner_text("h1")
    heaps = page.eval_on_selector_all("section[class*=heap-]", "all => all.map(one => one.className)")
    order = [
        name
        for name in ("heap-stop", "heap-talk", "heap-decide", "heap-fine")
        for seen in heaps
        if name in seen
    ]
    assert [heap.split()[-1] for heap in heaps] == order
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.className") == "skip"
    page.get_by_role("link", name="Davit Kellermoor").first.click()
    assert page.inner_text("h1") == "Davit Kellermoor"


@pytest.mark.parametrize("width", [360, 1440])
def test_no_page_is_wider_than_its_screen(served: Served, page: Any, width: int) -> None:
    page.set_viewport_size({"width": width, "height": 900})
    sha = served.records.films("davit")[-1].sha256
    for path in (
        "/",
        "/athletes",
        "/athletes/davit",
        "/athletes/bram",
        "/athletes/davit/take-in",
        "/athletes/davit/settings",
        "/athletes/new",
        "/films",
        f"/films/{sha}",
    ):
        page.goto(served.url + path)
        page.wait_for_load_state("networkidle")
        over = page.evaluate("document.documentElement.scrollWidth - innerWidth")
        assert over <= 0, f"{path} is {over} px wider than {width} px"


def test_the_week_is_accepted_in_one_action_and_leaves_the_list(served: Served, page: Any) -> None:
    page.goto(f"{served.url}/athletes/davit")
    before = len(served.records.weeks("davit"))
    page.get_by_role("button", name="Accept").click()
    page.wait_for_selector(".settled")
    weeks = served.records.weeks("davit")
    assert len(weeks) == before + 1
    assert weeks[-1].standing == "accepted"
    page.goto(served.url)
    assert page.locator(".heap-decide", has_text="Davit Kellermoor").count() == 0


def test_refusing_wants_a_reason_and_keeps_it(served: Served, page: Any) -> None:
    page.goto(f"{served.url}/athletes/davit")
    page.get_by_role("button", name="Refuse").click()
    page.get_by_role("alert").filter(has_text="reason").wait_for()
    page.fill("#reason", "travels all week")
    page.get_by_role("button", name="Refuse").click()
    page.wait_for_selector(".settled")
    kept = served.records.weeks("davit")[-1]
    assert (kept.standing, kept.reason) == ("refused", "travels all week")


def test_changed_numbers_are_kept_beside_the_proposal(served: Served, page: Any) -> None:
    page.goto(f"{served.url}/athletes/davit")
    page.get_by_role("button", name="Change numbers").click()
    sets = page.locator("input[name='sets-0-0']")
    was = int(sets.input_value())
    sets.fill(str(was + 1))
    page.fill("#reason", "one more, slept well")
    page.get_by_role("button", name="Keep my changes").click()
    page.wait_for_selector(".settled")
    kept = served.records.weeks("davit")[-1]
    assert kept.standing == "changed"
    assert kept.week.sessions[0].slots[0].sets == was
    assert kept.changed.sessions[0].slots[0].sets == was + 1


def test_every_rule_opens_to_what_it_rests_on(served: Served, page: Any) -> None:
    page.goto(f"{served.url}/athletes/davit")
    rules = page.locator(".rules details").filter(has_text="Where it comes from")
    assert rules.count() >= 1
    first = rules.first
    assert not first.locator("dl").is_visible()
    first.locator("summary").click()
    assert first.get_by_text("Where it comes from").is_visible()


def test_the_curves_are_drawn(served: Served, page: Any) -> None:
    page.goto(f"{served.url}/athletes/davit")
    page.wait_for_selector("[data-drawn=yes]")
    ink = page.eval_on_selector(
        "[data-curve=strength] canvas",
        "c => { const d = c.getContext('2d').getImageData(0, 0, c.width, c.height).data;"
        " let n = 0; for (let i = 3; i < d.length; i += 4) n += d[i] > 0; return n; }",
    )
    assert ink > 1000


def test_a_note_half_written_is_still_there_when_the_page_comes_back(served: Served, page: Any) -> None:
    page.goto(f"{served.url}/athletes/davit")
    page.fill("#reason", "ask about the shoulder fi")
    page.reload()
    assert page.input_value("#reason") == "ask about the shoulder fi"


def test_a_pasted_log_is_shown_before_it_is_stored(served: Served, page: Any) -> None:
    page.goto(f"{served.url}/athletes/davit/take-in")
    before = len(served.records.history("davit").sets)
    page.fill("#message", "2026-04-24\nstrict pull-up BW 5 5 4\nsomething about the weather")
    page.get_by_role("button", name="See what is understood").click()
    page.get_by_text("Not understood, so not stored").wait_for()
    assert len(served.records.history("davit").sets) == before
    page.get_by_role("button", name="Store what was understood").click()
    page.get_by_role("heading", name="Stored for").wait_for()
    assert len(served.records.history("davit").sets) == before + 3


def test_a_new_athlete_is_taken_in_and_a_slip_is_named(served: Served, page: Any) -> None:
    page.goto(f"{served.url}/athletes/new")
    page.fill("#name", "Wilma Tarn")
    page.fill("#stature", "17")
    page.fill("#body_mass", "64.5")
    page.get_by_role("button", name="Take in").click()
    assert "outside" in page.inner_text("#stature-wrong")
    assert page.input_value("#name") == "Wilma Tarn"
    page.fill("#stature", "170")
    page.get_by_role("button", name="Take in").click()
    page.wait_for_url("**/athletes/wilma")
    assert served.records.athlete("wilma").stature_m == 1.70
    assert "not all answered" in page.content()


def test_what_if_is_answered_on_the_athletes_page(served: Served, page: Any, until: Any) -> None:
    page.goto(f"{served.url}/athletes/bram")
    page.locator("#outlook-answer").scroll_into_view_if_needed()
    page.wait_for_selector("#outlook-answer .range.decides")
    assert page.locator("#outlook-answer .usual").count() == 0
    until("'htmx-internal-data' in document.querySelector('#outlook-answer form')")  # it listens now
    page.fill("#outlook-answer input[name=missed]", "14")
    page.keyboard.press("Tab")
    page.wait_for_selector("#outlook-answer .usual")
    assert "later" in page.inner_text("#outlook-answer [role=status]")
    page.get_by_role("button", name="As it is").click()
    page.wait_for_selector("#outlook-answer .usual", state="detached")
    assert page.input_value("#outlook-answer input[name=missed]") == ""
