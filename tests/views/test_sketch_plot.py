"""Sketches of the interview as pictures: every one is drawn, says the words of its text, and is readable at 400 px."""

import io

import numpy as np
import pytest
from PIL import Image

from strongback.errors import InputError
from strongback.project.interview.sketches import SKETCHES
from strongback.views import style
from strongback.views.sketch_plot import DRAWN, sketch_picture

WIDE = 400  # px


def test_every_sketch_of_the_text_is_drawn():
    assert set(DRAWN) == set(SKETCHES)
    with pytest.raises(InputError, match="no sketch"):
        sketch_picture("teapot")


@pytest.mark.parametrize("name", SKETCHES)
def test_a_sketch_says_what_is_asked(name):
    figure = sketch_picture(name)
    bold = [t for t in figure.axes[0].texts if t.get_fontweight() == "bold"]
    assert bold or name == "pull"  # of a pull nothing is measured
    asked = {
        word for word in (w.strip(":") for w in SKETCHES[name].split()) if word.isalpha() and word.isupper()
    }
    drawn = {word for t in figure.axes[0].texts for word in t.get_text().strip(";").split()}
    assert asked <= drawn | {"O"}, asked - drawn


@pytest.mark.parametrize("name", SKETCHES)
def test_nothing_is_cut_and_words_do_not_overlap(name):
    figure = sketch_picture(name)
    style.png(figure)
    page = figure.bbox
    boxes = [t.get_window_extent() for t in figure.axes[0].texts if t.get_text()]
    for box in boxes:
        assert page.x0 <= box.x0 < box.x1 <= page.x1
        assert page.y0 <= box.y0 < box.y1 <= page.y1
    for i, one in enumerate(boxes):
        for other in boxes[i + 1 :]:
            assert not one.padded(-1).overlaps(other.padded(-1))
    assert min(box.height for box in boxes) * WIDE / page.width >= 8.0  # a line of type [px]
    picture = np.asarray(Image.open(io.BytesIO(style.png(figure))).convert("L").resize((WIDE, 269)))
    assert picture.min() < 70
    assert picture.max() == 255
