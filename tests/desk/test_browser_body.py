"""The body model on an athlete's page, in a real browser: a full solve in its own process, killed, done."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from multiprocessing import get_context
from typing import TYPE_CHECKING, Any

import pytest
from tests.records.test_solves import its_lease_runs_out

from overbar.mechanics.full_solve import solve_asked
from overbar.records.work import work

if TYPE_CHECKING:
    from tests.desk.conftest import Served

pytestmark = [pytest.mark.browser, pytest.mark.xdist_group("browser")]

FAST = partial(solve_asked, variants=1)
"""One variant instead of five: the same way through everything, in a fifth of the time."""


@pytest.fixture
def a_worker(served: Served) -> Iterator[Any]:
    """Return what starts a worker on the records, as the desk does; all are ended after the test."""
    started = []

    def start() -> Any:
        process = get_context("spawn").Process(
            target=work, args=(served.records.settings, None, None, FAST), daemon=True
        )
        process.start()
        started.append(process)
        return process

    yield start
    for process in started:
        process.kill()
        process.join(timeout=10)


def test_a_body_is_solved_in_the_background_even_when_its_worker_is_killed(
    served: Served, page: Any, until: Any, a_worker: Any
) -> None:
    page.set_default_timeout(60_000)
    page.goto(f"{served.url}/athletes/davit")
    page.locator("#body").scroll_into_view_if_needed()
    page.get_by_role("button", name="Solve for this very body").click()
    page.wait_for_selector("text=waits for its turn")
    first = a_worker()
    page.wait_for_selector("text=Being solved: middle of the road")
    first.kill()
    first.join(timeout=10)
    its_lease_runs_out(served.records)
    a_worker()
    page.wait_for_selector("text=It was stopped and has been started again")
    # Meanwhile the rest of the page answers.
    page.locator("#body-answer input[name=belt]").fill("5")
    page.locator("#body-answer input[name=belt]").press("Tab")
    page.wait_for_selector("text=Then: margin")
    page.wait_for_selector("#body-solve table", timeout=300_000)
    cells = page.locator("#body-solve tbody td").all_inner_texts()
    assert len(cells) == 8
    assert "80 %" in cells[1]
    assert float(cells[3].replace("−", "-").split()[0]) == pytest.approx(0.0, abs=0.2)
    kept = served.records.solve("davit")
    assert kept is not None
    assert kept.asked["stature_m"] == 1.79
    # The figure moves by itself and by hand.
    page.get_by_role("button", name="Play").click()
    until("Number(document.querySelector('[data-moving] canvas').dataset.at) > 0.3")
    page.locator("[data-time]").fill("0")
    until("Number(document.querySelector('[data-moving] canvas').dataset.at) === 0")


def test_a_solve_without_an_answer_says_why(served: Served, page: Any) -> None:
    page.set_default_timeout(60_000)
    page.goto(f"{served.url}/athletes/davit")
    page.locator("#body").scroll_into_view_if_needed()
    page.get_by_role("button", name="Solve for this very body").click()
    page.wait_for_selector("#body-solve progress")
    task = served.records.claim_solve("a worker")
    assert task is not None
    assert served.records.finish_solve(task, "No solve from the swing start converged for this body.")
    page.wait_for_selector("text=No solve from the swing start converged")
    page.wait_for_selector("#body-solve button")
