"""How figures are rounded and worded for people."""

import pytest

from photolog.comparing.figures import change_text, ratio_text, size_text


@pytest.mark.parametrize(
    ("value", "half", "text"),
    [
        (238.21, 7.62, "238 ± 8 mm"),
        (238.21, 14.2, "238 ± 14 mm"),
        (95.43, 1.23, "95.4 ± 1.2 mm"),
        (95.43, 2.9, "95.4 ± 2.9 mm"),
        (95.43, 0.32, "95.4 ± 0.3 mm"),
        (238.2, 142.0, "238 ± 142 mm"),
        (95.43, 0.0, "95 ± 0 mm"),
        (238.2, None, "about 238 mm"),
        (238.2, float("nan"), "about 238 mm"),
    ],
)
def test_sizes(value, half, text):
    assert size_text(value, half, "mm") == text


def test_a_count_has_no_unit():
    assert size_text(9.0, 2.0) == "9.0 ± 2.0"


def test_ratios():
    assert ratio_text(0.8, (0.741, 0.866)) == "0.80 (0.74 to 0.87)"
    assert ratio_text(0.93) == "0.93"


def test_an_interval_that_stops_short_of_one_does_not_print_as_one():
    assert ratio_text(0.93, (0.87, 0.9981)) == "0.93 (0.87 to 0.998)"
    assert ratio_text(1.1, (1.0, 1.2)) == "1.10 (1.00 to 1.20)"


def test_changes():
    assert change_text(0.8) == "20 % smaller"
    assert change_text(1.125) == "12 % larger"
    assert change_text(1.004) == "the same"
    assert change_text(0.75, down="fewer", up="more") == "25 % fewer"
