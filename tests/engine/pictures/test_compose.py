"""Words on a picture stay on it, however long."""

import numpy as np
import pytest

from patternsim.pictures.compose import MARGIN_MM, TITLE_MM, lettered

PAPER = 250


@pytest.mark.parametrize("scale", [4.0, 11.8])
@pytest.mark.parametrize(
    ("title", "below"),
    [
        ("Feather", "After step 6, crush corners: section"),
        ("Feather " * 6, "After step 6, crush corners: section across the middle; 238 x 41.7 x 41.7 mm"),
        ("Feather " * 40, "After step 26, split down the middle: from the mark side; " * 4),
    ],
)
def test_titles_keep_the_margin(title, below, scale):
    wide = round(112 * scale)
    blank = np.full((round(60 * scale), wide, 3), PAPER, dtype=np.uint8)
    made = lettered(blank, scale, grown=1.0, title=title, below_title=below, notes=[])
    edge = round(MARGIN_MM * scale)
    head = (made != PAPER).any(axis=2)[: round(3.5 * TITLE_MM * scale)]
    assert head[:, edge:-edge].any()
    assert not head[:, : edge - 1].any()
    assert not head[:, wide - edge + 2 :].any()
