"""README's pictures are those that the lessons draw, told in words."""

import io
import re

import matplotlib.image
import pytest
import readme_pictures

README = (readme_pictures.REPO / "README.md").read_text(encoding="utf-8")


def test_the_readme_shows_them_each_with_its_words():
    shown = re.findall(r'<img alt="([^"]{60,})" src="notebooks/pictures/(\w+)\.png"', README)
    assert [name for _, name in shown] == list(readme_pictures.PICTURES)
    assert README.count("<img") == len(shown)


@pytest.mark.parametrize("name", readme_pictures.PICTURES)
def test_a_picture_has_the_size_of_the_one_drawn_now(name):
    # As with lessons: never the bytes, since letters are drawn otherwise from version to version.
    fresh = matplotlib.image.imread(io.BytesIO(readme_pictures.drawn(name)))
    kept = matplotlib.image.imread(readme_pictures.FOLDER / f"{name}.png")
    assert kept.shape == fresh.shape
