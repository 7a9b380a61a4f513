"""The coach changes the ladder in a real browser: numbers, slips, a version, tries, a move."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest

from overbar.ladder import load_ladder

if TYPE_CHECKING:
    from tests.desk.conftest import Served

pytestmark = [pytest.mark.browser, pytest.mark.xdist_group("browser")]
V = load_ladder().version


def test_from_the_drawing_to_a_number_a_version_a_try_and_a_move(served: Served, page: Any) -> None:
    page.goto(served.url)
    page.get_by_role("link", name="Ladder").click()
    assert "Bar muscle-up" in page.inner_text("h1")
    page.locator(".way").get_by_role("link", name="Gate to tries").click()
    number = page.locator("[name='f:item/1/value']")
    number.fill("three")
    number.press("Tab")
    page.locator("#checked .slip").wait_for()
    assert "item" in page.inner_text("#checked")
    assert number.input_value() == "three"
    number.fill("3,5")
    number.press("Tab")
    page.locator("#checked .fits").wait_for()
    days = page.locator("[name='f:item/2/value']")
    days.fill("6")
    days.press("Tab")
    page.get_by_role("link", name="see them and save").click()
    page.wait_for_url("**/ladder/*")
    assert "needed: 3, now 3.5" in page.inner_text(".draft")
    assert "needed: 5, now 6" in page.inner_text(".draft")
    page.fill("#note", "a slower turn")
    page.get_by_role("button", name="Save as a version").click()
    page.locator("#differs").wait_for()
    version = page.url.rpartition("/")[2]
    assert version != V
    page.get_by_role("button", name="See what it would have decided").click()
    page.locator("#trial-past > p > strong").wait_for(timeout=90_000)
    assert "48 past decisions made again" in page.inner_text("#trial-past")
    page.get_by_label("Davit Kellermoor").check()
    page.fill("#move-why", "sinks in the turn")
    page.get_by_role("button", name="Move the ticked").click()
    page.locator(".who-on li", has_text="Davit Kellermoor").locator(".tag").wait_for()
    assert served.records.ladder_for("davit").version == version
    assert served.records.ladder_for("ines").version == V


def test_the_whole_text_keeps_what_was_typed_and_leads_to_the_slip(
    served: Served, page: Any, until: Any
) -> None:
    page.goto(f"{served.url}/ladder/{V}/text?file=2")
    field = page.locator("textarea[data-lines]")
    text = field.input_value()
    field.fill(text + '\n[[rule]]\nid = "X"\n')
    page.get_by_role("button", name="Keep and check").click()
    page.locator("#checked .slip").wait_for()
    page.reload()
    assert field.input_value().endswith('id = "X"\n')
    page.goto(f"{served.url}/ladder/{V}")
    page.locator(".slip a", has_text="line").click()
    until("document.activeElement.matches('textarea[data-lines]')")
    chosen = page.evaluate("(f => f.value.slice(f.selectionStart, f.selectionEnd))(document.activeElement)")
    assert chosen == "[[rule]]"


def test_a_number_typed_and_left_at_once_is_not_lost(served: Served, page: Any, until: Any) -> None:
    page.goto(f"{served.url}/ladder/{V}/entry?kind=gate&key=G4")
    page.locator("[name='f:item/1/value']").fill("4")
    page.get_by_role("link", name="To the ladder").click()
    page.wait_for_url(f"**/ladder/{V}")
    assert "needed: 3, now 4" in page.inner_text(".draft")


def test_a_text_not_sent_is_still_there_when_the_page_comes_back(served: Served, page: Any) -> None:
    page.goto(f"{served.url}/ladder/{V}/entry?kind=rule&key=MISS-1")
    lines = page.locator("textarea.code")
    lines.fill(lines.input_value() + "# ask him first\n")
    page.reload()
    assert lines.input_value().endswith("# ask him first\n")


@pytest.mark.parametrize("width", [360, 1440])
def test_no_ladder_page_is_wider_than_its_screen(served: Served, page: Any, width: int) -> None:
    page.set_viewport_size({"width": width, "height": 900})
    ladder = load_ladder()
    files = ((name, text.replace("value = 0.18", "value = 0.19")) for name, text in ladder.files)
    served.records.keep_ladder_draft("bar_muscle_up", ladder.fingerprint, files)
    for path in (
        "/athletes/davit",
        "/ladder",
        f"/ladder/{V}/entry?kind=gate&key=G4",
        f"/ladder/{V}/entry?kind=method&key=weekly_budget",
        f"/ladder/{V}/entry?kind=fault&key=F06",
        f"/ladder/{V}/text",
        "/ladder?skill=front_lever",
    ):
        page.goto(served.url + path)
        page.wait_for_load_state("networkidle")
        for summary in page.locator("main details > summary").all()[:30]:
            summary.click()
        over = page.evaluate("document.documentElement.scrollWidth - innerWidth")
        assert over <= 0, f"{path} is {over} px wider than {width} px"
