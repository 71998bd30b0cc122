"""Every word is explained in a few lines that fit a terminal."""

from __future__ import annotations

import pytest

from strongback.errors import InputError
from strongback.views.words import find, words, words_text


def test_each_word_once_and_explained():
    names = [w.name for w in words()]
    assert len(names) == len(set(names)) >= 30
    for word in words():
        assert 60 < len(word.text) < 260, word.name
        assert word.sketch, word.name


@pytest.mark.parametrize("width", [60, 80])
def test_lines_fit(width):
    assert max(len(line) for line in words_text(words(), width).splitlines()) <= width


def test_the_three_rotations_are_the_ones_that_tables_name():
    for name, axis in (("nod", "about X"), ("side tilt", "about Y"), ("yaw", "about Z")):
        (word,) = find(name)
        assert axis in word.text


def test_a_word_that_is_not_there():
    with pytest.raises(InputError, match="not explained"):
        find("flux")
    with pytest.raises(InputError, match="not explained"):
        find(" ")
