"""The rules that turn an interval into a word, and a share into its interval's ends."""

import pytest

from photolog.comparing import NUMBER_WORDS, SIZE_WORDS, say, wilson_interval


@pytest.mark.parametrize(
    ("interval", "size", "number"),
    [
        ((0.70, 0.99), "smaller", "fewer"),
        ((1.01, 1.30), "larger", "more"),
        ((0.90, 1.10), "no clear change", "no clear change"),
        ((0.82, 1.22), "no clear change", "no clear change"),
        ((0.78, 1.30), "too few to say", "no clear change"),
        ((0.60, 1.60), "too few to say", "too few to say"),
        ((0.20, 0.90), "smaller", "fewer"),
        (None, "too few to say", "too few to say"),
    ],
)
def test_rules(interval, size, number):
    assert say(interval, words=SIZE_WORDS) == size
    assert say(interval, words=NUMBER_WORDS) == number


def test_an_interval_that_touches_one_is_no_clear_change():
    assert say((0.9, 1.0)) == "no clear change"
    assert say((1.0, 1.1)) == "no clear change"


@pytest.mark.parametrize(
    "interval", [(0.0, 1.0), (1.2, 0.8), (float("nan"), 1.0), (0.5, float("inf"))]
)
def test_no_word_for_what_is_no_interval(interval):
    with pytest.raises(ValueError, match="from low to high above zero"):
        say(interval)


def test_wilson_refuses_what_is_no_share():
    with pytest.raises(ValueError, match="at least one trial, got 0"):
        wilson_interval(0, 0)
    with pytest.raises(ValueError, match="between 0 and 4, got 5"):
        wilson_interval(5, 4)
    with pytest.raises(ValueError, match="confidence must lie between 0 and 1"):
        wilson_interval(1, 4, confidence=95)
