"""Parts of others are served unchanged, with their licence beside them, and nothing else is fetched."""

import hashlib
import re
from pathlib import Path

import overbar.desk

DESK = Path(overbar.desk.__file__).parent
VENDOR = DESK / "static" / "vendor"


def table() -> list[list[str]]:
    rows = (VENDOR / "VENDORED.md").read_text(encoding="utf-8").splitlines()
    return [[cell.strip() for cell in row.strip("|").split("|")] for row in rows if re.match(r"\| \w+/", row)]


def test_every_vendored_file_has_the_sum_it_was_taken_with() -> None:
    rows = table()
    assert {row[0] for row in rows} == {
        str(path.relative_to(VENDOR))
        for path in VENDOR.rglob("*")
        if path.is_file() and path.suffix in (".js", ".css")
    }
    for name, _, version, licence, digest in rows:
        assert version
        assert licence
        assert hashlib.sha256((VENDOR / name).read_bytes()).hexdigest() == digest, name
        assert (VENDOR / name).with_name("LICENSE.txt").stat().st_size > 200


def test_pages_load_nothing_from_elsewhere_and_hold_no_script_or_style() -> None:
    for template in (DESK / "templates").glob("*.html"):
        text = template.read_text(encoding="utf-8")
        assert not re.search(r"(?:src|href|action)=[\"']?(?:https?:)?//", text), template.name
        assert not re.search(r"<script(?![^>]*\bsrc=)", text), template.name
        assert not re.search(r"<style|\sstyle=|\son[a-z]+=|hx-on", text), template.name


def test_our_own_scripts_call_no_address_but_the_desks() -> None:
    for script in (DESK / "static").glob("*.js"):
        assert not re.search(
            r"https?://|\beval\(|new Function|innerHTML = `", script.read_text(encoding="utf-8")
        )
