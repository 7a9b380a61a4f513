"""The board in the background: it asks the athletes' first logs once, and stops when it is told to."""

import time
from pathlib import Path

from tests.records.conftest import someone

from overbar.desk.board import Board
from overbar.records import open_records
from overbar.records.own_athletes import learn_when_due
from overbar.settings import Settings
from overbar.simulation.coverage import FOREIGN, logged_life


def test_the_desk_asks_the_first_logs_of_its_athletes_by_itself(tmp_path: Path) -> None:
    records = open_records(Settings(tmp_path / "records", tmp_path / "cache"))
    for k in range(4):
        life = logged_life(7400 + k, 8, "f", people=FOREIGN)
        records.save_athlete(someone(f"a{k}", time_zone="UTC", joined=life.sets[0].on))
        records.add_sets(f"a{k}", life.sets, "test")
    board = Board(records, tmp_path / "pictures")
    board.start()
    try:
        for _ in range(600):
            if not board.whole or any(records.history(f"a{k}").prior is None for k in range(4)):
                time.sleep(0.1)
    finally:
        board.stop()
    assert [records.history(f"a{k}").prior.athletes for k in range(4)] == [3] * 4
    assert not learn_when_due(records)
    assert len(board.lines()[0]) == 4
    records.close()
