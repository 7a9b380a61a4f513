"""Read the demo's films anew and keep the readings beside them: ``python -m overbar.demo.readings``.

To be run when the film room has changed; a test compares what is kept with what
the film room says now.
"""

from __future__ import annotations

import json
import tomllib

from overbar.demo.build import DATA, FILMS, reading_path
from overbar.film import read_film
from overbar.film.reading import Reading
from overbar.settings import read_settings


def read_demo_film(file: str) -> Reading:
    """Read one of the demo's films with the measures of the athlete it is given to."""
    people = tomllib.loads((DATA / "people.toml").read_text(encoding="utf-8"))
    film = next(film for film in people["film"] if film["file"] == file)
    athlete = next(one for one in people["athlete"] if one["id"] == film["athlete"])
    return read_film(FILMS / file, athlete["stature_m"], athlete["body_mass_kg"], cache=read_settings().cache)


def main() -> None:
    """Read every film and write its reading."""
    for film in sorted(FILMS.glob("*.mp4")):
        reading = read_demo_film(film.name)
        text = json.dumps(reading.to_json(), separators=(",", ":"), allow_nan=False)
        reading_path(film.name).write_text(text + "\n", encoding="utf-8")
        print(f"{film.name}: main fault {reading.main_fault}, {len(text) // 1000} kB")


if __name__ == "__main__":
    main()
