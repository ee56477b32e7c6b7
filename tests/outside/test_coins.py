"""The counting function on a picture that others counted: scikit-image's coins."""

import numpy as np
import skimage.data

from measure.outline.seeds import count_seeds


def test_the_24_coins_are_counted_without_scale_or_polarity() -> None:
    # Greek coins from Pompeii, Brooklyn Museum, as scikit-image carries them: its own example of
    # segmentation finds 24. They are lighter than their ground, and two and a half to one in area.
    grey = skimage.data.coins()
    count = count_seeds(np.dstack([grey] * 3))
    assert count.seeds == 24
    low, high = count.interval95
    assert low <= 24 <= high
    assert high - low <= 4


def test_the_coins_are_counted_in_the_negative_too() -> None:
    grey = 255 - skimage.data.coins()
    assert count_seeds(np.dstack([grey] * 3)).seeds == 24
