"""README's pictures are those that the lessons draw, told in words."""

import io
import re

import matplotlib.image
import numpy as np
import pytest
import readme_pictures

README = (readme_pictures.REPO / "README.md").read_text(encoding="utf-8")


def test_the_readme_shows_them_each_with_its_words():
    shown = re.findall(r'<img alt="([^"]{60,})" src="notebooks/pictures/(\w+)\.png"', README)
    assert [name for _, name in shown] == list(readme_pictures.PICTURES)
    assert README.count("<img") == len(shown)


@pytest.mark.parametrize("name", readme_pictures.PICTURES)
def test_a_picture_is_as_drawn_now(name):
    # Fonts and lines may fall a pixel aside elsewhere; a curve or a label that moved is more than that.
    fresh = matplotlib.image.imread(io.BytesIO(readme_pictures.drawn(name)))[..., :3]
    kept = matplotlib.image.imread(readme_pictures.FOLDER / f"{name}.png")[..., :3]
    assert kept.shape == fresh.shape
    other = np.abs(kept - fresh).max(axis=2) > 0.3
    assert other.mean() < 0.003, "run tests/lessons/readme_pictures.py"
