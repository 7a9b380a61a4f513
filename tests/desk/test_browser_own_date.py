"""The coach gives a date of his own beside the forecast, in a real browser, and takes it back."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest

if TYPE_CHECKING:
    from tests.desk.conftest import Served

pytestmark = [pytest.mark.browser, pytest.mark.xdist_group("browser")]


def test_a_date_is_given_shown_beside_the_range_and_taken_back(served: Served, page: Any) -> None:
    page.goto(f"{served.url}/athletes/bram")
    page.locator("#outlook").scroll_into_view_if_needed()
    page.get_by_text("Give a date of your own").click()
    form = page.locator("#outlook-answer form", has=page.get_by_role("button", name="Keep my date"))
    about = form.locator("select[name=about]")
    about.select_option(index=1)
    form.locator("[name=early]").fill("2026-07-01")
    form.locator("[name=late]").fill("2026-09-15")
    form.locator("[name=reason]").fill("back on day shifts")
    form.get_by_role("button", name="Keep my date").click()
    page.wait_for_url("**/athletes/bram")
    page.locator("#outlook").scroll_into_view_if_needed()
    own = page.locator("#outlook-answer .words li")
    own.wait_for()
    assert "your date: 1 Jul to 15 Sep 2026" in own.inner_text()
    assert "back on day shifts" in own.inner_text()
    own.get_by_role("button", name="Take back").click()
    page.wait_for_url("**/athletes/bram")
    page.locator("#outlook").scroll_into_view_if_needed()
    page.get_by_text("Give a date of your own").wait_for()
    assert page.locator("#outlook-answer .words").count() == 0
    assert served.records.history("bram").coach[-1].choice == "taken_back"
