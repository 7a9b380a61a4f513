"""The film page in a real browser: frames by their own times, a point put right, a reply to send."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest

import overbar.demo

if TYPE_CHECKING:
    from tests.desk.conftest import Served

pytestmark = [pytest.mark.browser, pytest.mark.xdist_group("browser")]
FILMS = Path(overbar.demo.__file__).parent / "films"


def film_with(served: Served, name: str) -> Any:
    return next(film for film in served.records.films() if film.name.startswith(name))


@pytest.fixture
def opened(served: Served, page: Any, until: Any) -> Any:
    """Open the page of a film by its name, ready to be played."""

    def open_film(name: str) -> Any:
        film = film_with(served, name)
        page.goto(f"{served.url}/films/{film.sha256}")
        page.wait_for_selector("[data-film][data-ready=yes]")
        until("document.querySelector('.stage video').readyState >= 2")
        return film

    return open_film


def frame(page: Any) -> int:
    found = re.search(r"frame (\d+) of", page.inner_text(".stage .now"))
    assert found
    return int(found[1])


def picture(page: Any) -> list[int]:
    """Return a coarse print of the picture the browser shows now."""
    seen: list[int] = page.evaluate(
        "() => { const v = document.querySelector('.stage video');"
        " const c = document.createElement('canvas');"
        " c.width = 64; c.height = 36;"
        " const x = c.getContext('2d'); x.drawImage(v, 0, 0, 64, 36);"
        " return [...x.getImageData(0, 0, 64, 36).data].filter((_, i) => i % 4 === 0); }"
    )
    return seen


def test_the_keys_step_frame_by_frame(served: Served, page: Any, opened: Any) -> None:
    opened("good_side_gym")
    page.keyboard.press("ArrowRight")
    page.keyboard.press("ArrowRight")
    assert frame(page) == 3
    page.keyboard.press("Shift+ArrowRight")
    assert frame(page) == 13
    page.keyboard.press("ArrowLeft")
    assert frame(page) == 12


def test_each_step_shows_the_frame_of_that_presentation_time(
    served: Served, page: Any, opened: Any, until: Any
) -> None:
    import av

    film = opened("good_side_gym")
    reading = served.records.reading(film.sha256)
    for _ in range(6):
        page.keyboard.press("Shift+ArrowRight")
    until("!document.querySelector('.stage video').seeking")
    page.wait_for_timeout(150)
    index = frame(page) - 1
    with av.open(str(served.records.film_file(film.sha256))) as source:
        frames = [one.to_ndarray(format="gray", width=64, height=36) for one in source.decode(video=0)]
    seen = picture(page)
    away = [abs(one.astype(float).ravel() - seen).mean() for one in frames]
    assert min(range(len(away)), key=away.__getitem__) == index
    assert reading.joints.t_s[index] == pytest.approx(
        page.evaluate("document.querySelector('video').currentTime"), abs=0.04
    )


def test_an_event_is_one_key_or_one_click_away(served: Served, page: Any, opened: Any) -> None:
    film = opened("good_side_gym")
    events = sorted(event.at_s for event in served.records.reading(film.sha256).events)
    page.keyboard.press("n")
    page.keyboard.press("n")
    shown = float(page.inner_text(".stage .now").split(" s")[0])
    assert min(abs(at - shown) for at in events) < 0.02
    page.locator("details", has=page.locator(".moments")).evaluate("one => one.open = true")
    page.locator(".moments button").last.click()
    shown = float(page.inner_text(".stage .now").split(" s")[0])
    assert shown == pytest.approx(events[-1], abs=0.02)


def test_playing_moves_on_and_stopping_stays_on_a_frame(served: Served, page: Any, opened: Any) -> None:
    opened("good_side_gym")
    page.keyboard.press(" ")
    page.wait_for_timeout(900)
    page.keyboard.press(" ")
    page.wait_for_timeout(200)
    stopped = frame(page)
    assert stopped > 5
    page.keyboard.press("ArrowRight")
    assert frame(page) == stopped + 1


def test_slow_play_and_the_joints_switch(served: Served, page: Any, opened: Any) -> None:
    opened("good_side_gym")
    page.keyboard.press("s")
    assert page.evaluate("document.querySelector('video').playbackRate") == 0.5
    page.keyboard.press("j")
    paint = "document.querySelector('.stage canvas').getContext('2d')"
    drawn = f"{paint}.getImageData(0, 0, 2000, 2000).data.some(value => value)"
    assert not page.evaluate(drawn)
    page.keyboard.press("j")
    assert page.evaluate(drawn)


def test_a_dragged_bar_changes_every_number_and_can_be_taken_back(
    served: Served, page: Any, opened: Any
) -> None:
    film = opened("good_side_gym")
    before = served.records.reading(film.sha256)
    page.get_by_role("button", name="Move a point").click()
    box = page.locator(".stage canvas").bounding_box()
    scale = box["width"] / before.film.width
    x, y = box["x"] + before.bar.x_px * scale, box["y"] + before.bar.y_px * scale
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x, y + 12, steps=4)
    page.mouse.up()
    page.get_by_text("Every number is reckoned with your point").wait_for()
    after = served.records.reading(film.sha256)
    assert after.bar.y_px == pytest.approx(before.bar.y_px + 12 / scale, abs=2)
    assert served.records.reading(film.sha256, original=True) == before
    page.get_by_role("button", name="Take all my points back").click()
    page.get_by_text("Your points are taken back").wait_for()
    assert replace(served.records.reading(film.sha256), judged_by=before.judged_by) == before


def test_a_point_is_moved_by_keys_too(served: Served, page: Any, opened: Any) -> None:
    film = opened("good_side_gym")
    before = served.records.reading(film.sha256)
    page.keyboard.press("m")
    page.select_option("#joint", "left_hip")
    for _ in range(3):
        page.keyboard.press("Shift+ArrowDown")
    page.get_by_text("Every number is reckoned with your point").wait_for()
    column = before.joints.names.index("left_hip")
    moved = served.records.reading(film.sha256).joints.y_px[0][column]
    assert moved == pytest.approx(before.joints.y_px[0][column] + 15, abs=1.5)


def test_the_reply_is_filled_and_copied_as_edited(served: Served, page: Any, opened: Any) -> None:
    page.context.grant_permissions(["clipboard-read", "clipboard-write"], origin=served.url)
    opened("early_side_gym")
    text = page.input_value("#reply")
    assert len(text.splitlines()) == 3
    page.fill("#reply", text + "\nSee you Friday.")
    page.get_by_role("button", name="Copy").click()
    page.get_by_text("Copied.").wait_for()
    assert page.evaluate("navigator.clipboard.readText()").endswith("See you Friday.")


def test_two_films_are_held_at_the_same_event(served: Served, page: Any) -> None:
    other = film_with(served, "early_side_gym")
    mine = next(
        film
        for film in served.records.films(other.athlete_id)
        if film.sha256 != other.sha256 and film.status == "read"
    )
    page.goto(f"{served.url}/films/{mine.sha256}?beside={other.sha256}")
    page.wait_for_selector("[data-film][data-ready=yes]")
    kinds = [
        {e.kind: e.at_s for e in reversed(served.records.reading(one.sha256).events)} for one in (mine, other)
    ]
    kind = next(kind for kind in kinds[0] if kind in kinds[1])
    page.select_option("#lock-at", kind)
    page.locator("details", has=page.locator(".moments")).evaluate("one => one.open = true")
    page.locator(f".moments button[data-at='{kinds[0][kind]}']").first.click()
    shown = [float(said.split(" s")[0]) for said in page.locator(".stage .now").all_inner_texts()]
    assert shown == pytest.approx([kinds[0][kind], kinds[1][kind]], abs=0.04)


def test_a_film_is_added_with_its_consent_and_waits_to_be_read(served: Served, page: Any) -> None:
    page.goto(f"{served.url}/athletes/bram/take-in")
    ticks = page.locator("input[type=checkbox][name^=may_]")
    assert ticks.count() == 4
    assert not any(ticks.nth(n).is_checked() for n in range(4))
    known = {film.sha256 for film in served.records.films()}
    page.set_input_files("#clip", changed_copy(FILMS / "low_side_gym.mp4", served))
    page.check("input[name=may_coach]")
    page.get_by_role("button", name="Add the film").click()
    page.wait_for_url("**/films/*")
    new = next(film for film in served.records.films() if film.sha256 not in known)
    assert (new.consent.coach, new.consent.keep) == (True, False)
    assert "Waits to be read" in page.inner_text("#film-state")
    assert [doing.film_sha256 for doing in served.records.underway()] == [new.sha256]


def changed_copy(film: Path, served: Served) -> str:
    """Return a copy with other bytes and the same pictures, since a film is kept once only."""
    copy = served.records.settings.records / "from-a-phone.mp4"
    copy.write_bytes(film.read_bytes() + b"\0\0\0\x08free")
    return str(copy)


def test_a_film_the_browser_cannot_play_is_shown_through_a_copy(
    served: Served, page: Any, until: Any, tmp_path: Path
) -> None:
    import av

    known = film_with(served, "early_side_gym")
    reading = served.records.reading(known.sha256)
    phone = tmp_path / "phone.mov"
    with av.open(str(FILMS / "early_side_gym.mp4")) as source, av.open(str(phone), "w") as out:
        stream = out.add_stream(
            "libx265", rate=30, options={"preset": "ultrafast", "x265-params": "log-level=error"}
        )
        stream.width, stream.height, stream.pix_fmt = reading.film.width, reading.film.height, "yuv420p"
        for one in source.decode(video=0):
            out.mux(stream.encode(one))
        out.mux(stream.encode(None))
    film = served.records.add_film(known.athlete_id, phone, known.filmed_at, consent=known.consent)
    served.records.save_reading(film.sha256, reading)

    page.goto(f"{served.url}/films/{film.sha256}")
    page.wait_for_selector("[data-film][data-ready=yes]")
    until("document.querySelector('.stage video').readyState >= 2", 60)
    for _ in range(4):
        page.keyboard.press("Shift+ArrowRight")
    until("!document.querySelector('.stage video').seeking")
    page.wait_for_timeout(150)
    index = frame(page) - 1
    with av.open(str(FILMS / "early_side_gym.mp4")) as source:
        frames = [one.to_ndarray(format="gray", width=64, height=36) for one in source.decode(video=0)]
    seen = picture(page)
    away = [abs(one.astype(float).ravel() - seen).mean() for one in frames]
    assert index == 40
    assert min(range(len(away)), key=away.__getitem__) == index


def test_the_models_figure_moves_with_the_film(served: Served, page: Any, opened: Any, until: Any) -> None:
    opened("early_side_gym")
    page.locator("#model").scroll_into_view_if_needed()
    page.wait_for_selector("#model [data-model] canvas")
    assert "furthest apart" in page.inner_text("#model")
    page.keyboard.press("n")
    until("document.querySelector('#model canvas').dataset.at !== undefined")
    before = float(page.get_attribute("#model canvas", "data-at"))
    for _ in range(12):
        page.keyboard.press("n")
    assert float(page.get_attribute("#model canvas", "data-at")) > before


def now_s(page: Any) -> float:
    return float(page.inner_text(".stage .now").split(" s")[0])


def test_a_phase_of_the_band_is_jumped_to_by_mouse_and_by_keys(
    served: Served, page: Any, opened: Any
) -> None:
    opened("good_side_gym")
    phases = page.locator(".phases button")
    assert phases.count() >= 4
    last = phases.nth(phases.count() - 2)
    last.evaluate("one => one.click()")
    assert now_s(page) == pytest.approx(float(last.get_attribute("data-at")), abs=0.02)
    assert "now-in" in last.get_attribute("class")
    first = phases.nth(1)
    first.focus()
    page.keyboard.press("Enter")
    assert now_s(page) == pytest.approx(float(first.get_attribute("data-at")), abs=0.02)


def test_the_curves_follow_the_picture_and_a_click_on_them_moves_it(
    served: Served, page: Any, opened: Any
) -> None:
    film = opened("good_side_gym")
    whole = served.records.reading(film.sha256).joints.t_s[-1]
    for curve in ("#height-curve", "#speed-curve"):
        plot = page.locator(f"{curve} .u-over")
        plot.scroll_into_view_if_needed()
        box = plot.bounding_box()
        page.mouse.click(box["x"] + box["width"] * 0.4, box["y"] + box["height"] / 2)
        assert now_s(page) == pytest.approx(0.4 * whole, abs=0.05)
        page.keyboard.press("n")
        cursor = page.locator(f"{curve} .u-cursor-x").evaluate(
            "one => new DOMMatrix(getComputedStyle(one).transform).m41"
        )
        assert cursor / box["width"] == pytest.approx(now_s(page) / whole, abs=0.01)


def test_the_skeleton_lies_where_the_reading_has_the_joints(served: Served, page: Any, opened: Any) -> None:
    film = opened("good_side_gym")
    joints = served.records.reading(film.sha256).joints
    for _ in range(4):
        page.keyboard.press("Shift+ArrowRight")
    row, size = frame(page) - 1, page.evaluate("document.querySelector('.stage canvas').width")
    scale = size / served.records.reading(film.sha256).film.width
    for name in ("left_knee", "right_hip", "left_shoulder"):
        column = joints.names.index(name)
        x, y = joints.x_px[row][column] * scale, joints.y_px[row][column] * scale
        drawn = page.evaluate(
            "([x, y]) => document.querySelector('.stage canvas').getContext('2d')"
            ".getImageData(Math.round(x), Math.round(y), 1, 1).data[3]",
            [x, y],
        )
        assert drawn > 200, name


def test_a_joint_is_dragged_and_only_the_last_point_taken_back(
    served: Served, page: Any, opened: Any
) -> None:
    film = opened("good_side_gym")
    before = served.records.reading(film.sha256)
    page.get_by_role("button", name="Move a point").click()
    box = page.locator(".stage canvas").bounding_box()
    scale = box["width"] / before.film.width
    moved = []
    for name, by in (("left_knee", 20), ("left_ankle", 25)):
        column = before.joints.names.index(name)
        x = box["x"] + before.joints.x_px[0][column] * scale
        y = box["y"] + before.joints.y_px[0][column] * scale
        page.mouse.move(x, y)
        page.mouse.down()
        held = page.input_value("#joint")
        page.mouse.move(x + by, y, steps=4)
        page.mouse.up()
        page.get_by_text("Every number is reckoned with your point").wait_for()
        page.wait_for_timeout(300)
        moved.append(held)
    assert [one["joint"] for one in served.records.corrections(film.sha256)] == moved
    page.locator(".stage canvas").focus()
    page.keyboard.press("u")
    page.get_by_text("Your last point is taken back").wait_for()
    assert [one["joint"] for one in served.records.corrections(film.sha256)] == moved[:1]
    column = before.joints.names.index(moved[0])
    after = served.records.reading(film.sha256)
    assert after.joints.x_px[0][column] - before.joints.x_px[0][column] == pytest.approx(20 / scale, abs=2)
    page.get_by_role("button", name="Take all my points back").click()
    page.get_by_text("Your points are taken back").wait_for()
    assert replace(served.records.reading(film.sha256), judged_by=before.judged_by) == before


def test_the_reply_follows_the_numbers_until_it_is_edited(served: Served, page: Any, opened: Any) -> None:
    opened("early_side_gym")
    filled = page.input_value("#reply")
    page.keyboard.press("m")
    page.select_option("#joint", "bar")
    page.locator(".stage canvas").focus()
    for _ in range(4):
        page.keyboard.press("Shift+ArrowUp")
    page.get_by_text("Every number is reckoned with your point").wait_for()
    assert page.input_value("#reply") != filled
    page.fill("#reply", "My own words.")
    page.locator(".stage canvas").focus()
    page.keyboard.press("u")
    page.get_by_text("Your reply is as you wrote it").wait_for()
    assert page.input_value("#reply") == "My own words."
    page.get_by_role("button", name="Fill anew").click()
    assert page.input_value("#reply") == filled


def test_another_athletes_film_is_offered_beside_only_with_consent(
    served: Served, page: Any, opened: Any
) -> None:
    from overbar.records import FilmConsent

    film = opened("good_side_gym")
    other = next(one for one in served.records.films() if one.athlete_id != film.athlete_id)
    served.records.set_consent(other.sha256, FilmConsent(coach=True, keep=False, show=False, improve=False))
    page.reload()
    assert other.sha256 not in page.inner_html("#beside")
    served.records.set_consent(other.sha256, FilmConsent(coach=True, keep=False, show=True, improve=False))
    page.reload()
    page.select_option("#beside", other.sha256)
    page.get_by_role("button", name="Show both").click()
    page.wait_for_selector("[data-film][data-ready=yes]")
    owner = served.records.athlete(other.athlete_id).name
    assert owner in page.inner_text(".beside")


def test_two_films_play_together_and_stop_at_the_same_event(served: Served, page: Any, until: Any) -> None:
    other = film_with(served, "early_side_gym")
    mine = next(
        film
        for film in served.records.films(other.athlete_id)
        if film.sha256 != other.sha256 and film.status == "read"
    )
    page.goto(f"{served.url}/films/{mine.sha256}?beside={other.sha256}")
    page.wait_for_selector("[data-film][data-ready=yes]")
    until("[...document.querySelectorAll('.stage video')].every(one => one.readyState >= 2)")
    kind = page.input_value("#lock-at")
    first = [
        {e.kind: e.at_s for e in reversed(served.records.reading(one.sha256).events)}[kind]
        for one in (mine, other)
    ]
    page.keyboard.press("s")
    page.keyboard.press(" ")
    page.wait_for_timeout(900)
    page.keyboard.press(" ")
    page.wait_for_timeout(300)
    shown = [float(said.split(" s")[0]) for said in page.locator(".stage .now").all_inner_texts()]
    assert shown[0] > 0.1
    assert shown[1] == pytest.approx(max(shown[0] + first[1] - first[0], 0.0), abs=0.05)


def test_a_length_marked_in_the_picture_moves_the_scale_and_is_taken_back(
    served: Served, page: Any, opened: Any
) -> None:
    film = opened("good_side_gym")
    before = served.records.reading(film.sha256)
    page.get_by_role("button", name="Mark a length").click()
    box = page.locator(".stage canvas").bounding_box()
    scale = box["width"] / before.film.width
    centre = box["x"] + before.film.width * 0.6 * scale
    page.mouse.move(centre, box["y"] + before.film.height * 0.4 * scale)
    page.mouse.down()
    page.mouse.move(centre, box["y"] + before.bar.y_px * scale, steps=4)
    page.mouse.up()
    page.select_option("#end", "end_2")
    for _ in range(6):
        page.keyboard.press("Shift+ArrowDown")
    page.fill("#known-m", "0.9")
    page.get_by_role("button", name="Keep", exact=True).first.click()
    page.get_by_text("The scale goes by your length").wait_for()
    known = served.records.film(film.sha256).known_length
    assert known.length_m == 0.9
    assert known.y1_px == pytest.approx(before.bar.y_px, abs=2 / scale)
    assert known.y2_px == pytest.approx(before.film.height * 0.6 + 30, abs=1.5)
    after = served.records.reading(film.sha256)
    assert after.known_length == known
    assert after.hang_length.m != before.hang_length.m
    page.fill("#known-m", "90")
    page.get_by_role("button", name="Keep", exact=True).first.click()
    page.get_by_text("cannot be meant").wait_for()
    assert served.records.film(film.sha256).known_length == known
    page.get_by_role("button", name="Take it back", exact=True).first.click()
    page.get_by_text("The length is taken back").wait_for()
    assert served.records.film(film.sha256).known_length is None
    assert served.records.reading(film.sha256).hang_length == before.hang_length


def test_holds_named_on_the_page_set_heights_right_and_are_taken_back(
    served: Served, page: Any, opened: Any
) -> None:
    film = film_with(served, "good_side_gym")
    read = served.records.reading(film.sha256)
    served.records.save_reading(film.sha256, with_holds(read, (-0.15, -0.03, 0.22)))
    before = max(one.measures["peak_shoulder_L"].value for one in read.attempts)
    opened("good_side_gym")
    summary = page.get_by_text("Heights of this athlete, set right by holds")
    summary.click()
    choices = page.locator("select[name^=hold-]")
    assert choices.count() == 3
    # The button of a hold jumps to it, and the three are named by keys alone.
    page.locator("details", has=summary).locator("button.at").nth(1).click()
    assert float(page.inner_text(".stage .now").split(" s")[0]) > 1.0
    choices.nth(0).focus()
    for _ in range(3):
        page.keyboard.press("ArrowDown")
        page.keyboard.press("Tab")
        page.keyboard.press("Tab")
    assert choices.evaluate_all("all => all.map(one => one.value)") == ["chin", "chin", "chin"]
    page.get_by_role("button", name="Set heights right by these").click()
    page.get_by_text("two holds have the same name").wait_for()
    assert served.records.calibration(film.athlete_id) is None
    opened("good_side_gym")
    summary.click()
    for n, name in enumerate(("chin", "breastbone_top", "breastbone_low")):
        choices.nth(n).select_option(name)
    page.get_by_role("button", name="Set heights right by these").click()
    page.get_by_text("Heights are set right by").wait_for()
    kept = served.records.calibration(film.athlete_id)
    assert kept.film_sha256 == film.sha256
    assert all(one.too_high_L.value > 0 for one in kept.value.holds)
    after = served.records.reading(film.sha256)
    assert max(one.measures["peak_shoulder_L"].value for one in after.attempts) < before
    page.locator("button[name=do][value=drop]").click()
    page.wait_for_selector("[data-film][data-ready=yes]")
    assert page.get_by_text("Heights are set right by").count() == 0
    assert served.records.calibration(film.athlete_id) is None


def with_holds(reading: Any, heights: tuple[float, ...]) -> Any:
    """Return a reading whose height curve rests at these heights, from the hang and back to it."""
    stops = [-1.0, *(height for height in heights for _ in range(2)), -1.0]
    at = np.cumsum([0.0, 1.5, *(seconds for _ in heights for seconds in (2.0, 0.5))])
    t = np.arange(0.0, at[-1], 1 / 30)
    height = np.interp(t, at, stops)
    curves = replace(
        reading.curves,
        t_s=tuple(t),
        shoulder_L=tuple(height),
        shoulder_sd_L=tuple(np.full(len(t), 0.02)),
        chin_L=tuple(height + 0.2),
        hip_x_L=tuple(np.zeros(len(t))),
        rise_mps=tuple(np.gradient(height, t) * 0.68),
        elbow_deg=tuple(np.full(len(t), 170.0)),
        phase=tuple("hang" for _ in t),
    )
    return replace(reading, curves=curves)
