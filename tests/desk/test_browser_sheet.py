"""The sheet on a phone: two taps a set, nothing lost without a network, sent when there is one."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

if TYPE_CHECKING:
    from tests.desk.conftest import Served

FILMS = Path(__file__).parent.parent / "films"

pytestmark = [pytest.mark.browser, pytest.mark.xdist_group("browser")]


def accept_week(served: Served, page: Any) -> str:
    page.goto(f"{served.url}/athletes/davit")
    page.get_by_role("button", name="Accept").click()
    page.wait_for_selector(".settled")
    return str(page.get_attribute("a[href^='/sheet/']", "href"))


def test_a_session_is_done_without_a_network_and_sent_later(served: Served, page: Any, until: Any) -> None:
    link = accept_week(served, page)
    page.set_viewport_size({"width": 360, "height": 740})
    page.goto(served.url + link)
    page.wait_for_selector("article.slot")
    page.evaluate("navigator.serviceWorker.ready")
    page.reload()
    page.wait_for_selector("article.slot")
    assert page.evaluate("document.documentElement.scrollWidth - innerWidth") <= 0

    page.context.set_offline(True)
    page.reload()
    page.wait_for_selector("article.slot")
    pulls = page.locator("article.slot", has=page.locator(".ticks")).nth(1)
    pulls.locator(".ticks button").first.click()
    pulls.get_by_role("button", name="1", exact=True).last.click()
    page.get_by_role("button", name="Finish").click()
    page.get_by_role("group", name="Worst pain").get_by_role("button", name="2", exact=True).click()
    page.get_by_role("group", name="Effort").get_by_role("button", name="7", exact=True).click()
    page.get_by_role("button", name="Keep and send").click()
    page.get_by_text("waiting to send: 1").wait_for()

    before = served.records.history("davit")
    page.wrong.clear()
    page.context.set_offline(False)
    page.evaluate("window.dispatchEvent(new Event('online'))")
    until("!document.querySelector('#state').textContent.includes('waiting')")
    after = served.records.history("davit")
    assert len(after.sets) == len(before.sets) + 1
    assert after.pain[-1].worst == 2
    assert after.sessions[-1].effort == 7


def test_stop_rules_are_one_tap_away_and_pain_of_five_says_stop(served: Served, page: Any) -> None:
    link = accept_week(served, page)
    page.set_viewport_size({"width": 360, "height": 740})
    page.goto(served.url + link)
    page.wait_for_selector("article.slot")
    page.get_by_role("button", name="Stop rules").click()
    assert "chest pain" in page.inner_text("#rules").lower()
    page.locator("#rules button").click()
    page.get_by_role("button", name="Finish").click()
    page.get_by_role("group", name="Worst pain").get_by_role("button", name="5", exact=True).click()
    assert "Stop this work" in page.inner_text("#end .warn")


def test_without_a_network_the_phone_counts_the_days_on(served: Served, page: Any) -> None:
    link = accept_week(served, page)
    page.goto(served.url + link)
    page.wait_for_selector("article.slot")
    page.evaluate("navigator.serviceWorker.ready")
    page.reload()
    page.wait_for_selector("article.slot")
    page.context.set_offline(True)
    two_days = 2 * 24 * 3600 * 1000
    page.add_init_script(f"const real = Date.now; Date.now = () => real() + {two_days};")
    page.reload()
    page.wait_for_selector("article.slot")
    later = served.records.today("davit") + timedelta(days=2)
    assert page.inner_text("#state").startswith(later.isoformat())
    page.wrong.clear()


def test_each_try_says_how_it_went_and_the_sheet_counts_what_is_left(
    served: Served, page: Any, until: Any
) -> None:
    link = accept_week(served, page)
    page.set_viewport_size({"width": 360, "height": 740})
    page.goto(served.url + link)
    tries = page.locator("article.slot", has=page.locator(".tries"))
    tries.wait_for()
    assert "5 of 5 tries left here, 10 of 10 this week" in tries.inner_text()
    tries.locator(".ticks button").first.click()
    tries.get_by_role("button", name="not over").click()
    tries.locator(".ticks button").nth(1).click()
    tries.get_by_text("3 of 5 tries left here, 8 of 10 this week").wait_for()
    assert "two in a row are clearly lower" in tries.inner_text()

    before = served.records.history("davit").attempts
    page.get_by_role("button", name="Finish").click()
    page.get_by_role("button", name="Keep and send").click()
    until("document.querySelector('#finish').textContent === 'Send more'")
    until("!document.querySelector('#state').textContent.includes('waiting')")
    new = [one for one in served.records.history("davit").attempts if one not in before]
    # The second try was ticked without a word on how it went: it is not taken for a failure.
    assert [(one.n, one.outcome, one.source) for one in new] == [(1, "failed", "log")]


def test_a_film_is_taken_with_the_athletes_own_ticks_and_sent_when_there_is_a_network(
    served: Served, page: Any, until: Any
) -> None:
    link = accept_week(served, page)
    page.set_viewport_size({"width": 360, "height": 740})
    page.goto(served.url + link)
    page.wait_for_selector("article.slot")
    page.evaluate("navigator.serviceWorker.ready")
    before = {film.sha256 for film in served.records.films("davit")}
    page.context.set_offline(True)
    tries = page.locator("article.slot", has=page.locator(".tries"))
    tries.get_by_role("button", name="Add a film").click()
    dialog = page.locator("#filmed")
    dialog.get_by_label("The film").set_input_files(FILMS / "uneven_front.mp4")
    dialog.get_by_role("button", name="Keep and send").click()
    assert dialog.is_visible()  # without the first tick nothing is kept
    dialog.get_by_label("my coach reads and looks at it").check()
    dialog.get_by_role("button", name="Keep and send").click()
    tries.get_by_text("waiting to send").wait_for()
    assert page.evaluate("document.documentElement.scrollWidth - innerWidth") <= 0

    page.wrong.clear()
    page.context.set_offline(False)
    page.evaluate("window.dispatchEvent(new Event('online'))")
    tries.get_by_text("with your coach").wait_for()
    (film,) = [one for one in served.records.films("davit") if one.sha256 not in before]
    assert (film.exercise, film.status) == ("muscle_up", "waiting")
    assert (film.consent.coach, film.consent.keep, film.consent.show) == (True, False, False)


def test_what_is_no_film_is_refused_with_its_reason_and_stays_on_the_phone(
    served: Served, page: Any, tmp_path: Path
) -> None:
    link = accept_week(served, page)
    page.goto(served.url + link)
    tries = page.locator("article.slot", has=page.locator(".tries"))
    tries.get_by_role("button", name="Add a film").click()
    text = tmp_path / "text.mp4"
    text.write_text("not a film")
    dialog = page.locator("#filmed")
    dialog.get_by_label("The film").set_input_files(text)
    dialog.get_by_label("my coach reads and looks at it").check()
    dialog.get_by_role("button", name="Keep and send").click()
    tries.get_by_role("button", name="Send again").wait_for()
    assert "text.mp4" in tries.inner_text()
    tries.get_by_role("button", name="Take it out").click()
    tries.get_by_role("button", name="Send again").wait_for(state="detached")
    page.wrong.clear()
